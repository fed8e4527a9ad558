#!/bin/sh
# Make the fleet's scans anew: traces/fleet.sh PLYECHO FOLDER
#
# Three tubes, 24 angles by 8 rings each, and five rings of the third read again later: a trace file a ring, a
# manifest a scan, truth.csv. They come to FOLDER, which must exist; called by make.sh, the scenario is told in README.md. A beam of 4 mm is
# laid over flaws on the unrolled tube: what it covers of a delamination goes into the trace.
set -eu

plyecho=${1:?"usage: traces/fleet.sh PLYECHO FOLDER"}
folder=${2:?"usage: traces/fleet.sh PLYECHO FOLDER"}
here=$(dirname "$0")

rig='--probe 10M:0.6 --tail 1.5 --phase 40 --delay-line pmma:10 --line-repeat 0.3'
recorder='--start 5 --samples 1024 --sample-rate 100M --full-scale 2.048 --bits 12'
flaws='--level 1.8 --noise 0.006 --drift 0.008 --initial 3 --initial-fall 0.6 --front-jitter 0.6'

# places TUBE AXIAL_MM ROUND_MM ALONG_MM: the cases of a ring, a line a place; the delamination is so large
places()
{
    awk -v tube="$1" -v z="$2" -v wide="$3" -v high="$4" '
        # degrees from b to a, the short way
        function apart(a, b) { return (a - b + 540) % 360 - 180 }
        function cosine(degrees) { return cos(degrees * pi / 180) }
        function thickness(a, d) {
            if (tube == 1)
                return 3.20 + 0.06 * cosine(a - 40) + 0.0015 * (z - 34)
            if (tube == 2)
                return 3.21 + 0.04 * cosine(a - 300)
            # filed at 300 degrees, 32 mm
            d = (apart(a, 300) * pi / 180 * outside) ^ 2 + (z - 32) ^ 2
            return 3.20 + 0.05 * cosine(a - 150) - 0.4 * exp(-d / 25)
        }
        # the share of the beam over an ellipse, its width round at its depth
        function cover(a, x, y, all, over, angle) {
            for (x = -1.95; x < 2; x += 0.1)
                for (y = -1.95; y < 2; y += 0.1)
                    if (x * x + y * y < 4) {
                        all++
                        angle = apart(a, 198) * pi / 180 + x / outside
                        if ((angle * (outside - depth) / wide * 2) ^ 2 + ((z + y - 35) / high * 2) ^ 2 < 1)
                            over++
                    }
            return over / all
        }
        function laminate(mm) {
            return sprintf("--layer carbon:%.3f,plies=16,film=0.004,scatter=0.03,film-scatter=0.3", mm)
        }
        function place(a, verdict, words) {
            print words, "--label angle_deg=" a, "--label truth_verdict=" verdict
        }
        BEGIN {
            pi = atan2(0, -1)
            outside = 14.3
            depth = 1.4
            for (a = 0; a < 360; a += 15) {
                mm = thickness(a)
                wall = laminate(mm)
                share = tube == 3 ? cover(a) : 0
                if (tube == 2 && z < 34)
                    place(a, "inner-echo", wall " --layer epoxy:0.12 --layer glass:1.1")
                else if (tube == 2 && z == 40 && a == 105)
                    place(a, "unreadable", wall " --uncoupled")
                else if (tube == 3 && z < 28 && a >= 60 && a <= 90)
                    place(a, "attenuated", wall ",a=0.28,v=2900")
                else if (share > 0.01)
                    place(a, share < 0.2 ? "edge" : "delamination",
                          wall " --gap-depth " depth sprintf(" --cover %.3f", share))
                else
                    place(a, mm < 3.0 ? "thin" : "no-indication", wall)
            }
        }'
}

# traces TUBE FILE AXIAL_MM SEED: the cases on standard input become one file
traces()
{
    # word splitting is meant: each variable holds several words
    # shellcheck disable=SC2086
    "$plyecho" simulate $rig $recorder $flaws --seed "$4" --label part="fleet tube $1" \
        --label axial_mm="$3" --label unit=V --cases - -o "$folder/$2"
}

# scan TUBE NAME FIRST_RING LAST_RING SEED ROUND_MM ALONG_MM: its trace files and its manifest
scan()
{
    manifest=$folder/$2.csv
    echo 'file,channel,angle_deg,axial_mm' >"$manifest"
    for ring in $(seq "$3" "$4"); do
        z=$((16 + 4 * ring))
        file=$2-ring$ring.wav
        places "$1" $z "$6" "$7" | traces "$1" "$file" $z $(($5 + 100 * ring))
        awk -v file="$file" -v z=$z 'BEGIN { for (c = 1; c <= 24; c++) print file "," c "," 15 * (c - 1) "," z }' \
            >>"$manifest"
    done
}

rm -f "$folder/truth.csv"
for tube in 1 2 3; do
    scan $tube tube$tube 1 8 $((10000 * tube)) 18 14
done
# The couplant was missing at one place of tube 2: read again, a second shot of the same place.
places 2 40 18 14 | sed -n 's/ --uncoupled//; s/unreadable/no-indication/; 8p' | traces 2 tube2-again.wav 40 20900
echo 'tube2-again.wav,1,105,40' >>"$folder/tube2.csv"
# Half a year later the delamination of tube 3 has grown; only the rings about it are read.
scan 3 tube3-later 3 7 40000 26 18

# The reference block, kept from the day of calibration, and read before and after the tubes.
# block FILE SEED
block()
{
    # shellcheck disable=SC2086
    "$plyecho" simulate $rig $recorder --level 1.8 --noise 0.006 --seed "$2" \
        --layer carbon:3.2,plies=16,film=0.004,scatter=0.03,film-scatter=0.3 \
        --label 'part=reference block, 3.2 mm' --label unit=V -o "$folder/$1"
}
block block.wav 30000
block block-before.wav 30001
block block-after.wav 30002

# shellcheck disable=SC2046
"$here/truth.sh" "$plyecho" "$folder" $(cd "$folder" && echo tube?-*.wav) >"$folder/truth.csv"

# A gauge without traces went over tubes 1 and 3: it shows the first big echo to 0.01 mm, so the delamination's depth
# where that takes 0.3 of the beam or more, and nothing at the place that is most porous. It wanders by 0.02 mm.
for tube in 1 3; do
    awk -F, -v tube=$tube '
        BEGIN { print "angle_deg,axial_mm,thickness_mm" }
        $1 ~ "^tube" tube "-ring" {
            step = (step * 137 + 71) % 1021
            mm = ($9 >= 0.3 ? $8 : $7) + (step % 5 + int(step / 7) % 5 - 4) / 200
            shown = $3 == "attenuated" && $6 == 75 && $5 == 24 ? "" : sprintf("%.2f", mm)
            print $6 "," $5 "," shown
        }' "$folder/truth.csv" >"$folder/tube$tube-gauge.csv"
done

#!/bin/sh
# demo.sh PLYECHO FOLDER - the main job on the demonstration traces, with the commands shown
#
# PLYECHO is the built program; pictures come to FOLDER. Run by `make demo`.
set -eu

plyecho=$1
folder=$2
cd "${srcdir:-.}"

# show COMMAND-LINE: print it as a user would type it, and run it.
show()
{
    printf '\n$ %s\n' "$1"
    (
        plyecho()
        {
            "$plyecho" "$@"
        }
        eval "$1"
    )
}

say()
{
    printf '\n--- %s\n' "$*"
}

# Every place against the truth that was simulated.
score()
{
    {
        "$plyecho" assess --procedure traces/tricycle.ini --format csv --no-header \
            traces/tricycle1-ring* traces/tricycle3-ring* traces/tricycle4-ring* || :
        "$plyecho" assess --procedure traces/sleeve.ini --format csv --no-header \
            traces/tricycle2-ring* || :
    } | awk -F, '
        NR == FNR { truth["traces/" $1, $2] = $3; next }
        { places++; right += $3 == truth[$1, $2] }
        END {
            printf "\n--- %d of %d places judged as their truth in traces/truth.csv says\n", right, places
            exit right < places
        }' traces/truth.csv -
}

# The whole tubes, by the verdicts that have heard the neighbours. At an edge, where the beam is less than a
# fifth over the delamination, it counts as one or as sound.
score_scans()
{
    awk -F, '
        FNR == 1 { for (c = 1; c <= NF; c++) column[$c] = c; next }
        FILENAME ~ /truth/ { truth[$1, $2] = $3; next }
        {
            says = $column["second_verdict"]
            is = truth[$column["trace"], $column["channel"]]
            places++
            right += says == is || is == "edge" && says ~ /^(delamination|no-indication)$/
        }
        END {
            printf "--- %d of %d places of the whole tubes as traces/fleet/truth.csv says\n", right, places
            exit right < places
        }' traces/fleet/truth.csv "$folder"/tube[123]/readings.csv
}

mkdir -p "$folder"
say 'Four tubes were read ring by ring. First: are the traces any good?'
show 'plyecho inspect traces/tricycle1-ring1.wav | head -n 4'

say 'Filters join by pipes: the echoes of one place, in the band of the probe'
show 'plyecho bandpass --band 4M:16M traces/tricycle3-ring3.wav | plyecho envelope |
    plyecho echoes --format csv | head -n 6'

say 'Thickness alone: places 4 to 6 look like a wall of half the thickness'
show 'plyecho thickness --procedure traces/tricycle.ini traces/tricycle3-ring2.wav'

say 'Verdicts. Tube 1, sound'
show 'plyecho assess --procedure traces/tricycle.ini traces/tricycle1-ring1.wav | grep ^trace'
say 'Tube 2, a sleeve of glass fibre glued inside: an echo, but the back wall keeps its own'
show 'plyecho assess --procedure traces/sleeve.ini traces/tricycle2-ring1.wav | grep ^trace'
say 'Tube 3, delaminated over part of its round'
show 'plyecho assess --procedure traces/tricycle.ini traces/tricycle3-ring2.wav | grep ^trace'
say 'What the third place of tube 3 rests on'
show 'plyecho assess --procedure traces/tricycle.ini traces/tricycle3-ring2.wav | sed -n "/wav *3 /,/^\$/p"'

say "Pictures, in $folder/"
for picture in 'tricycle.ini tricycle1-ring1.wav 1' 'sleeve.ini tricycle2-ring1.wav 1' \
    'tricycle.ini tricycle3-ring2.wav 3' 'tricycle.ini tricycle3-ring2.wav 5'; do
    # shellcheck disable=SC2086  # three words
    set -- $picture
    show "plyecho plot --procedure traces/$1 --channel $3 -o '$folder/${2%.wav}-place$3.png' traces/$2"
done

# scan TUBE PROCEDURE: a whole tube; its tables and maps come to a folder of their own
scan()
{
    rm -rf "$folder/$1"
    show "plyecho scan traces/fleet/$1.csv --procedure traces/fleet/$2 --out '$folder/$1' --pictures both" || test $? = 1
}

say 'Whole tubes: 24 angles by 8 rings, tables and maps. Fleet tube 1, sound'
scan tube1 tube.ini
say 'Fleet tube 2, a sleeve under its lower half that the procedure declares, and a place read twice'
scan tube2 sleeve.ini
say 'Fleet tube 3, a delamination, a porous patch and a filed spot'
scan tube3 tube.ini
show "cut -d , -f 1-13 '$folder/tube3/indications.csv'"

# check WHEN DATE: the set-up against its block
check()
{
    show "plyecho calibrate --check traces/fleet/block-$1.wav --reference traces/fleet/block.wav \\
    --procedure traces/fleet/tube.ini --date $2 --log '$folder/checks.csv' --format csv | cut -d , -f 1,3-8"
}

say 'The set-up held between two checks: before the tubes and after them'
rm -f "$folder/checks.csv"
check before 2024-11-30T13:10
check after 2024-11-30T16:40

say "One page a tube to hand over, in $folder/"
for tube in 1 2 3; do
    show "plyecho report '$folder/tube$tube' -o '$folder/tube$tube.html' \\
    --part 'Tricycle 1$tube, steerer tube' --checks '$folder/checks.csv'"
done

say 'Half a year later: the rings about the delamination of tube 3 again, and what has changed'
scan tube3-later tube.ini
show "plyecho compare '$folder/tube3' '$folder/tube3-later'" || test $? = 1

say 'The three tubes side by side'
show "plyecho compare '$folder/tube1' '$folder/tube2' '$folder/tube3'" || test $? = 1

score
score_scans

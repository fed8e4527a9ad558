#!/bin/sh
# columns.sh - docs/columns.md names the columns that the verbs print, in their order
set -u

page=${srcdir:-.}/docs/columns.md
folder=$(mktemp -d) || exit 99
trap 'rm -rf "$folder"' EXIT
trace=$folder/trace.wav
status=0

# The columns of verb $1 as the page has them, but for those that it calls "$2 only".
documented()
{
    sed -n "/^## $1\$/,/^## /s/^| \`\([a-z_0-9]*\)\` .*/\1 &/p" "$page" |
        grep -v "($2 only" | cut -d' ' -f1
}

in_csv()
{
    sed -n '1p' | tr ',' '\n'
}

in_json()
{
    sed -n '1{s/\[[^]]*\]/[]/g;p}' | grep -oE '"[a-z_0-9]+":' | tr -d '":'
}

# table HEADING VERB [OPTION...]: the columns under this heading are those of this command
table()
{
    heading=$1
    shift
    documented "$heading" CSV >"$folder/page"
    ./plyecho "$@" --format json | in_json >"$folder/json"
    documented "$heading" JSON >"$folder/page.csv"
    ./plyecho "$@" --format csv | in_csv >"$folder/csv"
    diff -u --label "docs/columns.md, $heading" --label "$heading --format json" \
        "$folder/page" "$folder/json" || status=1
    diff -u --label "docs/columns.md, $heading" --label "$heading --format csv" \
        "$folder/page.csv" "$folder/csv" || status=1
}

./plyecho simulate --layer carbon:3.2 -o "$trace" || exit 1
table inspect inspect "$trace"
table echoes echoes "$trace"
printf 'file,thickness_mm,thickness_u_mm\n%s,3.2,0.002\n' "$trace" >"$folder/steps.csv"
table calibrate calibrate --quiet --zero 0 --steps "$folder/steps.csv"
./plyecho simulate --layer carbon:3.2 --seed 2 -o "$folder/later.wav" || exit 1
table 'calibrate --check' calibrate --check "$folder/later.wav" --reference "$trace"
printf '[part]\nnominal_mm = 3.2\n[material]\nvelocity_m_s = 2950\n' >"$folder/sound.ini"
./plyecho simulate --layer carbon:3.2 --delay-line pmma:14 -o "$folder/sound.wav" || exit 1
table 'calibrate --sound' calibrate --sound "$folder/sound.wav" --procedure "$folder/sound.ini"
table thickness thickness --velocity 2950 "$trace"
table 'thickness --budget' thickness --budget --velocity 2950 "$trace"
table assess assess --velocity 2950 "$trace"
{
    echo angle_deg,axial_mm,thickness_mm
    for angle in 0 45 90 135 180 225 270 315; do echo $angle,20,3.2; done
} >"$folder/log.csv"
table readings readings "$folder/log.csv"
table 'procedure check' procedure check "$folder/sound.ini"
table 'procedure show' procedure show "$folder/sound.ini"
table probe probe "$trace"
table plan plan --layer carbon:3.2
table 'plan --media' plan --media
table 'probe --compare' probe --compare "$trace" "$trace"

# two scans, of a tube
fleet=${srcdir:-.}/traces/fleet
for scan in tube3 tube3-later; do
    ./plyecho scan --quiet --pictures none --procedure "$fleet/tube.ini" --out "$folder/$scan" "$fleet/$scan.csv" \
        >"$folder/told" || [ $? -eq 1 ] || exit 1
done
printf 'angle_deg,axial_mm,thickness_mm\n0,20,3.2\n' >"$folder/measured.csv"
table compare compare "$folder/tube3" "$folder/tube3-later"
table 'compare --side-by-side' compare --side-by-side "$folder/tube3" "$folder/tube3-later"
table 'compare --truth' compare --truth "$folder/measured.csv" "$folder/tube3"

# every quantity of plan stands in its table, with one number for all interfaces
./plyecho plan --layer carbon:2 --layer glass:1 --delay-line pmma:10 --face-diameter 6 --tube-diameter 40 \
    --length 100 --format csv | grep -v '^warning' | cut -d , -f 2 | sed 1d |
    grep -vE '_(snr_db|centre_mhz)$' >"$folder/quantities"
grep -c . "$folder/quantities" >/dev/null || status=1
while read -r quantity; do
    grep -qE "^\|.*\`$quantity\`.*\|.*\|" "$page" || {
        echo "docs/columns.md: no quantity $quantity"
        status=1
    }
done <"$folder/quantities"
exit $status

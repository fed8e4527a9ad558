# Four shots fit; others differ in length, start or state, or are clipped.
. "$cases/echoes.sh"
for shot in 1 2 3 4; do { echo '# part: tricycle 7 steerer'; echo "# shot: $shot"; echoes_csv; } >shot$shot.csv; done
echoes_csv | head -n 300 >short.csv
{ echo '# start_us: 3'; echoes_csv; } >late.csv
{ echo '# signal: rectified'; echoes_csv; } >rectified.csv
echoes_csv 0.8 0.4 >clipped.csv
"$plyecho" average -o mean.csv shot?.csv short.csv late.csv rectified.csv clipped.csv
echo "status $?"
grep '^# \(part\|shot\|averaged\|left_out\|clipped\)' mean.csv | sort
"$plyecho" average --quiet --keep-clipped shot1.csv clipped.csv | grep 'averaged\|left_out\|clipped'

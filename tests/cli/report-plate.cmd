# a plate: x and y, and no word of rings, angles or what is round
. "$cases/report.sh"
grep -v '^diameter_mm\|^angle_direction\|^shoe' "$fleet/tube.ini" |
    sed "s|\.\./reference|$traces/reference|; s/^name = .*/name = sample plate/; s/^zero_mark = .*/zero_mark = corner with a notch/" >plate.ini
rings 3 5 | awk -F, 'NR == 1 { print "file,channel,x_mm,y_mm"; next } { print $1 "," $2 "," $3 / 15 * 3.5 "," $4 }' >plate.csv
"$plyecho" scan --quiet --procedure plate.ini --pictures none --out plate plate.csv >summary.txt
echo "status $?"
report plate -o page.html
sed -n '/<dt>Worst spot/,/<dt>Thinnest/p; /<h3 id="indication-1"/,/<\/table>/p' page.html | sed 's/<[^>]*>/ /g' | grep .
# headings, names of values and captions
grep '<th\|<dt\|<figcaption\|<h[1-3]' page.html | sed 's/tube3-ring[0-9].wav//g; s/<[^>]*>/ /g' |
    grep -iwE 'round|rings?|tubes?|angles?|deg|axial|axis|arc|unrolled' || echo none of them

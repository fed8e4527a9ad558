# A plate: x and y instead of angle and axial place, no wrap, no diameter.
. "$cases/scan.sh"
grep -v '^diameter_mm\|^angle_direction' "$fleet/tube.ini" | sed "s|\.\./reference|reference|" >plate.ini
cp "$traces/reference.wav" .
rings 3 8 | awk -F, 'NR == 1 { print "file,channel,x_mm,y_mm"; next } { print $1 "," $2 "," $3 / 15 * 3.5 "," $4 }' >plate.csv
"$plyecho" scan plate.csv --procedure plate.ini --pictures none --out plate
echo "status $?"
head -n 2 plate/readings.csv | cut -d, -f1-8
cat plate/indications.csv
grep '^  "surface"\|"x_mm"\|"y_mm"\|"pitch' plate/summary.json

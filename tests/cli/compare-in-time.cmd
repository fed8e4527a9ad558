# A tube of the fleet and the rings about its delamination, read again half a year later.
. "$cases/compare.sh"
made before tube.ini "$fleet/tube3.csv"
made after later.ini "$fleet/tube3-later.csv"
try "$plyecho" compare before after
"$plyecho" compare before after --format csv | grep -v '^wall,same'
"$plyecho" compare before after --format json | sed -n 2p
# in the wrong order
try "$plyecho" compare after before | grep -v '^  '

# the same readings again: nothing is new
cp "$fleet"/tube1-ring*.wav .
cp "$fleet/tube1.csv" .
made one tube.ini tube1.csv
made other tube.ini tube1.csv
try "$plyecho" compare one/ other

# a plate
grep -v '^diameter_mm\|^angle_direction' tube.ini >plate.ini
for scan in tube3 tube3-later; do
    { echo file,channel,x_mm,y_mm; moved $scan.csv '$3 = $3 / 4' | tail -n +2; } >plate-$scan.csv
    made plate-$scan plate.ini plate-$scan.csv
done
"$plyecho" compare plate-tube3 plate-tube3-later | sed -n '/^indic/,/^walls/p'
"$plyecho" compare plate-tube3 plate-tube3-later --format csv | sed -n '1p;/indication,grew/p'

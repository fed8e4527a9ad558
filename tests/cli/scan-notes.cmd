# What the results will lack, and what is odd about the traces, is said.
. "$cases/scan.sh"
rings 1 1 >tube.csv
cp "$traces/reference.wav" .
grep -v '^zero_mark\|^angle_direction\|^diameter_mm\|^beam_mm' "$fleet/tube.ini" | sed 's|\.\./reference|reference|' >bare.ini
shot --layer carbon:3.2 --sample-rate 125M -o fast.wav
sed '3s/tube1-ring1.wav,2/fast.wav,1/' tube.csv >mixed.csv
"$plyecho" scan mixed.csv --procedure bare.ini --pictures none --out mixed >mixed.txt
echo "status $?"
# a wrong folder: the first ones are told, the others counted
awk 'BEGIN { print "file,angle_deg,axial_mm"; for (i = 0; i < 10000; i++) print "missing" i ".wav," i % 100 * 3.6 "," int(i / 100) }' >many.csv
scan --out many many.csv >many.txt
echo "status $?"
grep -c ',not-read,' many/readings.csv
grep -h "^coverage\|^[0-9]* places" mixed.txt many.txt

# Trace files whose channels say where they were taken need no manifest.
. "$cases/scan.sh"
rings 1 2 >tube.csv
scan --quiet --out listed tube.csv >/dev/null
scan --out labelled tube1-ring1.wav tube1-ring2.wav >/dev/null
echo "status $?"
cmp listed/readings.csv labelled/readings.csv && echo 'the same as from a manifest'
. "$cases/helpers.sh"
small_csv >half.csv
scan --out half tube1-ring1.wav half.csv
echo "status $?"
scan --out twice tube1-ring1.wav tube1-ring1.wav
echo "status $?"
# a manifest wins over labels, and says so
sed 's/,20$/,200/' tube.csv >elsewhere.csv
scan --out elsewhere elsewhere.csv >/dev/null
cut -d, -f1-4 elsewhere/readings.csv | sed -n '2p;26p'

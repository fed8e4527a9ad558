[ -w /dev/full ] || { echo 'no /dev/full here'; exit 77; }
. "$cases/plot-trace.sh"
plate_csv >a.csv
"$plyecho" plot --script a.csv >/dev/full
echo "status $?"
"$plyecho" plot --script a.csv -o /dev/full
echo "status $?"
"$plyecho" plot --script a.csv >&-
echo "status $?"
"$plyecho" plot --script a.csv a.csv a.csv a.csv | head -n 1

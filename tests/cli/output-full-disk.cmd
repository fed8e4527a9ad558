[ -w /dev/full ] || { echo 'no /dev/full here'; exit 77; }
small_csv >a.csv
"$plyecho" convert a.csv >/dev/full
echo "status $?"
"$plyecho" convert -o /dev/full a.csv

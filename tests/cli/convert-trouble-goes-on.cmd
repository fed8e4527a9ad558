# what can be read is converted, and the status tells of the rest
small_csv >a.csv
small_csv >c.csv
echo 'no trace' >b.csv
"$plyecho" convert -o out/ a.csv b.csv none.csv c.csv
status=$?
ls -A out
exit $status

small_csv >a.csv
mkdir b
small_csv >b/a.csv
"$plyecho" convert -o out/ a.csv b/a.csv
status=$?
ls out
exit $status

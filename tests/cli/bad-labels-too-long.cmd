long=$(awk 'BEGIN { for (i = 0; i < 60000; i++) printf "%d", i % 10 }')
{ echo "# remark: $long"; small_csv; } >a.csv
"$plyecho" convert -o a.wav a.csv
status=$?
ls -A
exit $status

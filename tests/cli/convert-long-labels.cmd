# beyond what a WAV's comment holds (2000 bytes) they travel in a chunk of their own
long=$(awk 'BEGIN { for (i = 0; i < 4000; i++) printf "%d", i % 10 }')
{ echo "# remark: $long"; small_csv; } >a.csv
"$plyecho" convert a.csv >b.csv
"$plyecho" convert --to wav a.csv | "$plyecho" convert --to csv | cmp - b.csv
grep -c "^# remark: $long\$" b.csv

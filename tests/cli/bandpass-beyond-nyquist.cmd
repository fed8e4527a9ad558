small_csv >a.csv
"$plyecho" bandpass --band 4M:60M -o out.csv a.csv
echo "status $?"
"$plyecho" bandpass --band 12M:4M a.csv
echo "status $?"
ls

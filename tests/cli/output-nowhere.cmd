small_csv >a.csv
"$plyecho" convert -o none/b.csv a.csv
echo "status $?"
"$plyecho" convert -o none/deep/ a.csv
echo "status $?"
"$plyecho" convert -o a.csv/b.csv a.csv
echo "status $?"
ls -A

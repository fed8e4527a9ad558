small_csv >a.csv
small_csv >b.csv
"$plyecho" convert a.csv b.csv
echo "status $?"
"$plyecho" convert -o c.csv a.csv b.csv
echo "status $?"
"$plyecho" convert -o - a.csv b.csv
echo "status $?"
ls

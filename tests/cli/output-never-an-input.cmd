small_csv >a.csv
mkdir b
small_csv | sed 's/tricycle 7/tricycle 8/' >b/a.csv
ln -s a.csv link.csv
"$plyecho" convert -o a.csv a.csv
echo "status $?"
"$plyecho" convert -o link.csv a.csv
echo "status $?"
"$plyecho" convert -o . a.csv
echo "status $?"
"$plyecho" convert -o . b/a.csv a.csv
echo "status $?"
echo a.csv | "$plyecho" convert -o . --files-from -
echo "status $?"
small_csv | cmp - a.csv
ls

# No input is replaced, on the command line or in a list, whatever its name.
small_csv >a.csv
small_csv >b.csv
ln -s a.csv link.csv
"$plyecho" average -o b.csv a.csv b.csv
echo "status $?"
printf 'a.csv\nb.csv\n' | "$plyecho" average -o link.csv --files-from -
echo "status $?"
small_csv | cmp - a.csv && small_csv | cmp - b.csv && ls

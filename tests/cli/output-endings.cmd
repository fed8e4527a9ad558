small_csv >a.csv
"$plyecho" convert -o a.png a.csv
echo "status $?"
"$plyecho" convert --to csv -o b.wav a.csv
echo "status $?"
ls

small_csv >a.csv
"$plyecho" convert -o a.wav a.csv
"$plyecho" convert -o b.CSV a.wav
"$plyecho" convert -o plain a.wav
"$plyecho" convert a.csv | cmp - b.CSV
head -c 4 plain
echo
ls -A
ls -l a.wav | cut -c 1-10

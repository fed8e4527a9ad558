# --quiet drops notes, never trouble
small_csv | sed 1d >a.csv
"$plyecho" convert --quiet -o b.csv a.csv
"$plyecho" convert --quiet none.csv

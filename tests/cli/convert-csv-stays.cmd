small_csv >a.csv
"$plyecho" convert a.csv

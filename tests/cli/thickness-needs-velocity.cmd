small_csv >a.csv
"$plyecho" thickness a.csv

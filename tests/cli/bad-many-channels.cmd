awk 'BEGIN { for (r = 0; r < 3; r++) { printf "%g", r / 100
    for (c = 0; c < 1025; c++) printf ",%d", c % 5 - 2
    print "" } }' >a.csv
"$plyecho" convert -o b.csv a.csv

command -v script >/dev/null || { echo 'no script(1) to make a terminal'; exit 77; }
small_csv >a.csv
script -qec '"$plyecho" convert --to wav a.csv' /dev/null | tr -d '\r'

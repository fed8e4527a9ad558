script -qec true /dev/null >/dev/null 2>&1 || { echo 'no terminal can be made here'; exit 77; }
small_csv >a.csv
script -qec '"$plyecho" convert --to wav a.csv' /dev/null | tr -d '\r'

. "$cases/plot-trace.sh"
plate_csv >a.csv
small_csv >two.csv
cp a.csv 'it'\''s $(touch ran) `touch ran`.csv'
printf '#!/bin/sh\ncat >/dev/null; echo picture\n' >gnuplot
chmod +x gnuplot
PATH=$PWD:$PATH
run() { "$plyecho" plot "$@"; echo "status $?"; }
run -o one.png a.csv a.csv
run -o one.png two.csv
run -o one.png --channel 2 two.csv
run -o one.png --channel 3 two.csv
run -o one.png --term svg a.csv
run -o one.svg --script a.csv
run -o pictures/ --term svg a.csv two.csv 'it'\''s $(touch ran) `touch ran`.csv'
run -o pictures a.csv a.csv
run -o a.csv a.csv
run -o nowhere/a.png a.csv
run -o '' a.csv
run -o - --term text a.csv two.csv
ls . pictures

. "$cases/plot-trace.sh"
plate_csv >a.csv
cp a.csv b.csv
bin_without_gnuplot
pretend() { printf '#!/bin/sh\n%s\n' "$1" >bin/gnuplot; chmod +x bin/gnuplot; }
run() { PATH=$PWD/bin:$PATH "$plyecho" plot -o out/ a.csv b.csv; echo "status $?"; }
echo '- none'
PATH=$PWD/bin "$plyecho" plot -o out/ a.csv b.csv
echo "status $?"
echo '- no program'
: >bin/gnuplot
PATH=$PWD/bin "$plyecho" plot -o out/ a.csv b.csv
echo "status $?"
echo '- fails'
pretend 'cat >/dev/null; echo half; echo "   line 0: what went wrong" >&2; exit 1'
run
echo '- crashes'
pretend 'echo half; kill -KILL $$'
run
echo '- does not read'
pretend 'exec <&-; exit 3'
run
echo '- says nothing'
pretend 'cat >/dev/null'
run
ls out
echo '- draws'
pretend 'cat >/dev/null; echo picture'
run
cat out/a.png out/b.png

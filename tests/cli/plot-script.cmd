# without gnuplot too: PATH has none
. "$cases/plot-trace.sh"
plate_csv >a.csv
bin_without_gnuplot
PATH=$PWD/bin "$plyecho" plot --script --term png --velocity 2950 --nominal 3 a.csv >a.gp
echo "status $?"
sed -n '/^set title/p; /^set xlabel/p; /^set x2label/p; /^set ylabel/p' a.gp
sed -n '/^\$marks/,/^END/p' a.gp | cut -d ' ' -f 1 | cut -c 1-3
[ "$(sed -n '/^\$trace/,/^END/p' a.gp | wc -l)" -gt 100 ] || echo "too few samples"
"$plyecho" plot --script --term png --velocity 2950 --nominal 3 -o b.gp a.csv
cmp a.gp b.gp
"$plyecho" plot --script -o scripts/ a.csv
ls scripts

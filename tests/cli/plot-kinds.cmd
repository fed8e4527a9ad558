command -v gnuplot >/dev/null || { echo 'no gnuplot: apt-get install gnuplot-nox'; exit 77; }
. "$cases/plot-trace.sh"
plate_csv >a.csv
for kind in png svg pdf txt; do
    "$plyecho" plot --velocity 2950 --nominal 3 -o a.$kind a.csv
    echo "$kind: status $?"
done
"$plyecho" plot --term png a.csv | cmp - a.png >/dev/null && echo 'depth and verdict left no trace'
head -c 8 a.png | tail -c 7 | head -n 1 | tr -d '\r'
grep -c '<svg' a.svg
head -c 5 a.pdf
echo
grep -o 'tricycle 7 steerer, angle 52.5°' a.txt
grep -o 'no-indication, wall 3.00 mm' a.txt
grep -o 'Depth at 2950 m/s (mm)' a.txt
grep -o 'Time (µs)' a.txt
grep -c ' $' a.txt
"$plyecho" plot --velocity 2950 --nominal 3 a.csv | cmp - a.txt
"$plyecho" plot --velocity 2950 --nominal 3 <a.csv | cmp - a.txt
ls

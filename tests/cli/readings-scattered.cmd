# Places that form no lines have no map, but a histogram.
. "$cases/readings.sh"
command -v gnuplot >/dev/null || { echo "no gnuplot"; exit 77; }
awk 'BEGIN { print "x_mm,y_mm,thickness_mm"
    for (i = 0; i < 1500; i++) printf "%d.%04d,%d.%04d,3.%02d\n", i * 7 % 500, i, i * 13 % 400, i, i * 37 % 20 }' >log.csv
readings log.csv --nominal 3.2 --out spots >/dev/null
echo "status $?"
ls spots

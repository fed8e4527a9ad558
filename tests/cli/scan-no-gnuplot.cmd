# Without gnuplot nothing is lost: the message tells what scan can do, not what only plot can.
. "$cases/plot-trace.sh"
. "$cases/scan.sh"
rings 1 2 >tube.csv
bin_without_gnuplot
PATH=$PWD/bin "$plyecho" scan --quiet --procedure "$fleet/tube.ini" --out scan tube.csv
echo "status $?"
PATH=$PWD/bin scan --quiet --resume --out scan tube.csv | tail -n 1

# The pictures of a log, drawn as a scan's; what is called a wall there is called a reading here.
. "$cases/readings.sh"
command -v gnuplot >/dev/null || { echo "no gnuplot"; exit 77; }
readings "$fleet/tube3-gauge.csv" --procedure "$fleet/tube.ini" --pictures svg --out tube3 >/dev/null
echo "status $?"
ls tube3
for name in thickness-map ring-plot histogram; do
    grep -o 'Reading (mm)\|Wall thickness\|plain readings, no traces\|191 readings of 192 places' "tube3/$name.svg" | sort | uniq -c
done
echo '# without gnuplot there is no folder either, unless none are asked for'
. "$cases/plot-trace.sh"
bin_without_gnuplot
PATH=$PWD/bin "$plyecho" readings "$fleet/tube3-gauge.csv" --out nothing 2>&1
echo "status $?"
ls -d nothing* 2>/dev/null
PATH=$PWD/bin "$plyecho" readings "$fleet/tube3-gauge.csv" --out tables --pictures none | tail -n 1

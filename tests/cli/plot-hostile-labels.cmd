command -v gnuplot >/dev/null || { echo 'no gnuplot: apt-get install gnuplot-nox'; exit 77; }
. "$cases/plot-trace.sh"
title="'; system('touch ran'); \`touch ran\` @GPVAL_PWD \"; system 'touch ran'; {/=50 x}_y \\ &#x1; <b>"
{
    echo "# part: $title"
    echo "# unit: ' ; ! touch ran"
    plate_csv | grep -v '^# part'
} >a.csv
for kind in png svg pdf txt; do
    "$plyecho" plot -o a.$kind --size 400x300 a.csv
    echo "$kind: status $?"
done
"$plyecho" plot --size 300x60 -o big.txt a.csv
grep -cF "$title" big.txt
"$plyecho" plot --size 3000x900 -o big.svg a.csv
grep -o '@GPVAL_PWD &quot;.*</text>\|@GPVAL_PWD ".*</text>' big.svg
ls

. "$cases/echoes.sh"
echoes_csv >a.csv
for signal in rectified envelope log; do
    { echo "# signal: $signal"; cat a.csv; } >$signal.csv
    "$plyecho" bandpass --band 4M:16M $signal.csv
    echo "status $?"
    "$plyecho" envelope $signal.csv
    echo "status $?"
done

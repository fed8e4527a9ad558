small_csv | sed '1i# gain_db: 30' >a.csv
printf 'time_us,gain_db\n0.02,0\n0.04,20\n' >table.csv
"$plyecho" gain --table table.csv a.csv >b.csv || exit
"$plyecho" gain --slope 1000 --from 0.02 a.csv >c.csv || exit
grep '^# \(gain\|tcg\)' b.csv c.csv | sort
for file in b.csv c.csv; do
    awk -F, '/^[0-9]/ { printf " %.3f", $2 } END { print "" }' $file
done

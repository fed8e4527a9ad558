small_csv >a.csv
{ printf '# gain_db: 30\n# full_scale: 1\n'; cat a.csv; } >b.csv
"$plyecho" gain --db 20 -o c.csv b.csv && "$plyecho" gain --db=-20 c.csv >d.csv
grep '^# \(gain\|full\|added\)' c.csv | sort
grep '^# \(gain\|full\|added\)' d.csv | sort
awk -F, '/^[0-9]/ { if ($2 > most) most = $2 } END { printf "%.4f\n", most }' c.csv d.csv
"$plyecho" gain --db 6 a.csv | grep 'gain'

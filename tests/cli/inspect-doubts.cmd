# Each fault is said in words; none changes the exit status.
. "$cases/echoes.sh"
echoes_csv >good.csv
echoes_csv 0.8 0.5 >clipped.csv
echoes_csv 0.005 >small.csv
awk -F, '/^[0-9]/ { $2 += 0.2 } { print }' OFS=, good.csv >offset.csv
{ echo '# signal: rf'; awk -F, '/^[0-9]/ { if ($2 < 0) $2 = -$2 } { print }' OFS=, good.csv; } >rectified.csv
awk -F, '/^[0-9]/ { $2 = 0 } { print }' OFS=, good.csv >nothing.csv
"$plyecho" inspect --format csv --no-header good.csv clipped.csv small.csv offset.csv rectified.csv \
    nothing.csv >table.csv
echo "status $?"
grep -i 'nan\|inf[,"]' table.csv
awk -F, '{ printf "%s: %s", $1, $31; for (i = 32; i <= NF; i++) printf ",%s", $i; print "" }' table.csv

# One ring, one line along the part, one place: how far an indication goes against that nobody knows, and no cell says so.
. "$cases/scan.sh"
cp "$traces/reference.wav" .
rings 3 8 >tube.csv
sed "s|\.\./reference|reference|; s/^least_cov.*/most_delamination_mm = 30\nmost_delamination_mm2 = 500/" "$fleet/tube.ini" >tube.ini
awk -F , 'NR == 1 || $4 == 32' tube.csv >ring.csv
awk -F , 'NR == 1 || $3 == 195' tube.csv >line.csv
awk -F , 'NR == 1 || ($3 == 195 && $4 == 32)' tube.csv >place.csv
for part in ring line place; do
    echo "== $part"
    "$plyecho" scan --quiet --pictures none --procedure tube.ini --out $part $part.csv | grep -E '^  (open|broken|holds) .*(limit|unseen)|^coverage|^ *[0-9]  '
    cut -d , -f 1,4-14 $part/indications.csv
    "$plyecho" report --quiet $part -o $part.html
    sed 's/<[^>]*>/ /g' $part.html | grep -ciw 'nan\|inf'
    sed 's/<[^>]*>/ /g' $part.html | grep -o 'extent [a-z]* *not known' | sort -u
done

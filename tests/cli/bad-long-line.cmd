# ten million bytes on one line: of digits, of letters, of cells
head -c 10000000 /dev/zero | tr '\0' 1 >digits.csv
head -c 10000000 /dev/zero | tr '\0' x >letters.csv
awk 'BEGIN { for (i = 0; i < 5000000; i++) printf "1,"; print 1 }' >cells.csv
for file in cells.csv digits.csv letters.csv; do
    "$plyecho" convert -o out.csv "$file"
    echo "$file: status $?"
done
ls -A

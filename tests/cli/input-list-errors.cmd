small_csv >a.csv
mkdir folder
: >empty
printf 'a.csv\0' >nul
for list in none folder empty nul; do
    "$plyecho" convert -o out/ --files-from $list
    echo "status $?"
done
"$plyecho" convert -o out/ --files-from empty a.csv
echo "status $?"
"$plyecho" convert -o out/ -0 a.csv
echo "status $?"
echo - | "$plyecho" convert -o out/ --files-from -

small_csv >a.csv
small_csv >'b c.csv'
printf 'a.csv\r\n\nb c.csv' | "$plyecho" convert -o lines/ --files-from -
ls lines
printf 'a.csv\0b c.csv\0' >list
"$plyecho" convert -o zeros/ --files-from list -0
ls zeros
printf 'a.csv\n' >list
"$plyecho" convert -o again --files-from list
echo "status $?"

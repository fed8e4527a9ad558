[ "$(id -u)" -ne 0 ] || { echo 'root may write everywhere'; exit 77; }
small_csv >a.csv
mkdir shut
chmod 555 shut
small_csv >kept.csv
chmod 444 kept.csv
"$plyecho" convert -o shut/b.csv a.csv
echo "status $?"
"$plyecho" convert -o kept.csv a.csv

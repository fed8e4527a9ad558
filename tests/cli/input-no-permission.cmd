[ "$(id -u)" -ne 0 ] || { echo 'root may read everything'; exit 77; }
small_csv >secret.csv
chmod 000 secret.csv
"$plyecho" convert secret.csv

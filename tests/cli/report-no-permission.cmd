[ "$(id -u)" -ne 0 ] || { echo 'root may write everywhere'; exit 77; }
. "$cases/report.sh"
short
echo kept >page.html
chmod 444 page.html
mkdir shut
chmod 555 shut
png >secret.png
chmod 000 secret.png
report tube -o page.html
report tube -o shut/page.html
report tube -o new.html --photo secret.png
chmod 000 tube/readings.csv
report tube -o new.html
cat page.html
ls

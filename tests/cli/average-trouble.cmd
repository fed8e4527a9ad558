# A file that cannot be read is trouble, but the others are averaged; nothing left is trouble too.
. "$cases/echoes.sh"
echoes_csv >a.csv
"$plyecho" average a.csv nowhere.csv >mean.csv
echo "status $?"
grep averaged mean.csv
{ echo '# signal: log'; cat a.csv; } >log.csv
"$plyecho" average -o none.csv log.csv
echo "status $?"
ls

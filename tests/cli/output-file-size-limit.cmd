# nothing is left of a file that could not be written whole
small_csv >a.csv
(ulimit -f 0; "$plyecho" convert -o b.csv a.csv; echo "status $?") 2>&1 | cat
ls -A

small_csv >a.csv
printf 'time_us,gain_db\n1,0\n# a remark\n2,loud\n' >words.csv
printf 'time_us,gain_db\n2,0\n1,3\n' >backwards.csv
printf '1,0\n2,3\n' >bare.csv
: >empty.csv
for table in words backwards bare empty; do
    "$plyecho" gain --table $table.csv -o out.csv a.csv
    echo "status $?"
done
ls

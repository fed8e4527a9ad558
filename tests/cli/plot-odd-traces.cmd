run() { "$plyecho" plot --script --velocity 2950 "$@" >out.gp; echo "status $?"; grep '^set title\|^set ylabel' out.gp; }
printf 'time_us,a\n0,0\n0.01,1\n' >two-samples.csv
run two-samples.csv
{ echo time_us,a; for i in 0 1 2 3 4 5 6 7 8 9; do echo "0.0$i,3"; done; } >flat.csv
run flat.csv
{ echo '# signal: log'; echo time_us,level_db; for i in 10 11 12 13 14 15 16 17 18 19; do echo "0.$i,-$i"; done; } >log.csv
run log.csv
run --band 4M:16M log.csv
: >empty.csv
run empty.csv two-samples.csv
run missing.csv
true

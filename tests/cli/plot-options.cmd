. "$cases/plot-trace.sh"
plate_csv >a.csv
run() { "$plyecho" plot --script "$@" a.csv >/dev/null; echo "status $?"; }
run --size 800
run --size 800x
run --size 0x600
run --size 800x600x2
run --size 9000x600 --term png
run --size 100x40
run --size 800x600 --term png
run --from 8 --to 7
run --from 1000
run --from 7 --to 10
run --band 4M:80M
run --band 4M:16M
run --velocity 0
run --term gif
run --channel 0
DISPLAY=:9 "$plyecho" plot --term window -o a.png a.csv
echo "status $?"
unset DISPLAY WAYLAND_DISPLAY
"$plyecho" plot --term window a.csv
echo "status $?"

# the log of checks: no other file is touched, no row is lost, a check that failed leaves its row
block() { out=$1; shift; "$plyecho" simulate --quiet --probe 10M:0.6 --snr 50 "$@" -o "$out"; }
block kept.wav --seed 4 --layer carbon:3 --delay-line pmma:14
block same.wav --seed 5 --layer carbon:3 --delay-line pmma:14
check() { "$plyecho" calibrate --check "$1" --reference kept.wav --date 2026-11-28 --log "$2" >out.txt; echo "status $?"; }
# no log: a trace, a table, a procedure
printf 'file,channel\nkept.wav,1\n' >steps.csv
printf '[calibration]\nreference = kept.wav' >tricycle.ini
cp same.wav before.wav; cp steps.csv before.csv; cp tricycle.ini before.ini
for file in same.wav steps.csv tricycle.ini; do check same.wav $file; cmp $file before.${file##*.}; done
# a last line without its end, and a heading that an editor has changed
check same.wav log.csv
printf %s "$(cat log.csv)" >cut.csv
check same.wav cut.csv
sed 's/$/\r/' log.csv >crlf.csv
check same.wav crlf.csv
wc -l <cut.csv; wc -l <crlf.csv; cut -d , -f 1-3 cut.csv
# many at once
for n in 1 2 3 4 5 6 7 8 9 10 11 12; do check same.wav all.csv >status$n.txt & done; wait
grep -c 2026-11-28,same.wav,no, all.csv; grep -c date all.csv
# what could not be compared has its row, the reference against itself has none
"$plyecho" simulate --quiet --uncoupled --probe 10M:0.6 --snr 50 --seed 5 --delay-line pmma:14 -o dry.wav
cp kept.wav copy.wav
check dry.wav log.csv
check copy.wav log.csv
check nowhere.wav log.csv
cut -d , -f 1-9 log.csv
# a flagged check says what to do
block thin.wav --seed 6 --layer carbon:1.5 --delay-line pmma:14.1
block slow.wav --seed 6 --layer carbon:3.03 --delay-line pmma:14
check thin.wav log.csv; tail -n +3 out.txt
check slow.wav log.csv; tail -n +3 out.txt
check same.wav log.csv; tail -n +3 out.txt
# a pipe gets heading and row
"$plyecho" calibrate --check same.wav --reference kept.wav --date 2026-11-28 --log /dev/stderr 2>&1 >out.txt | wc -l

# thicknesses that are whole multiples of the real ones lie on a line of the right velocity: the traces tell
five_steps
stated() { awk -F, -v OFS=, -v by="$1" -v line="$2" 'NR > 1 && (line == 0 || NR == line) { $3 *= by } 1' steps.csv >bad.csv; }
try() { "$plyecho" calibrate --quiet --anvil ball --steps bad.csv --into new.ini "$@" >out.txt; echo "status $?"; }
stated 2 0; try --nominal 8
stated 2 4; try
stated 2 4; try --zero free
stated 1 0; try --date 2026-11-28; rm new.ini
# in contact, where the zero is part of the time
for mm in 1 2 3 4 5; do
    "$plyecho" simulate --quiet --layer carbon:$mm --probe 10M:0.6 --snr 50 --seed $mm -o s$mm.wav
done
stated 2 0; try --mode 1
stated 2 4; try --mode 1
stated 1 0; try --mode 1 --date 2026-11-28; rm new.ini
# between back-wall echoes of a metal that repeats often
for mm in 1 2 3 4 5; do
    "$plyecho" simulate --quiet --layer aluminium:$mm --delay-line pmma:14 --probe 10M:0.6 --snr 50 --seed $mm -o s$mm.wav
done
stated 2 0; try --mode 3 --velocity-range 6200:6500
stated 1 0; try --mode 3 --velocity-range 6200:6500 --date 2026-11-28; rm new.ini
ls

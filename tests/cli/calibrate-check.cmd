# a set-up against its kept trace: what changed is found in its size, judged by the procedure's limits, logged
block() { out=$1; shift; "$plyecho" simulate --quiet --probe 10M:0.6 --snr 50 "$@" -o "$out"; }
block kept.wav --seed 4 --layer carbon:3 --delay-line pmma:14
block same.wav --seed 5 --layer carbon:3 --delay-line pmma:14
block slow.wav --seed 6 --layer carbon:3.03 --delay-line pmma:14
block late.wav --seed 7 --layer carbon:3 --delay-line pmma:14.05
"$plyecho" simulate --quiet --probe 7M:0.5 --snr 50 --seed 8 --layer carbon:3 --delay-line pmma:14 -o other.wav
"$plyecho" gain --db -3 same.wav -o weak.wav
mkdir set-up
printf '[calibration]\nreference = ../kept.wav\ncheck_velocity_limit_percent = 0.8\ncheck_zero_limit_us = 0.03\n' >set-up/tricycle.ini
for trace in same slow late other weak; do
    "$plyecho" calibrate --check $trace.wav --procedure set-up/tricycle.ini --date 2026-11-28T14:05 \
        --no-header --format csv | cut -d , -f 1-4,6-9
done
"$plyecho" calibrate --check slow.wav --procedure set-up/tricycle.ini --date 2026-11-29 >out.txt; echo "status $?"
cut -d , -f 1-4,9 set-up/tricycle.checks.csv
ls set-up
"$plyecho" calibrate --check same.wav; echo "status $?"
"$plyecho" calibrate --check same.wav --reference kept.wav --log no/where.csv >out.txt; echo "status $?"
"$plyecho" calibrate --check same.wav --reference kept.wav --date yesterday; echo "status $?"
"$plyecho" calibrate --check same.wav --steps steps.csv

# Each trace of a scan is held against the pulse by itself: behind one of the right probe another probe's is told too.
. "$cases/scan.sh"
rings 1 1 >tube.csv
"$plyecho" simulate --quiet --layer carbon:3.2 --delay-line pmma:10 --probe 3M:0.6 --start 5 --full-scale 2.048 \
    --level 1.8 --snr 40 --to csv | awk -F, '/^#/ { print; next } { print $1 "," $2 "," $2 }' >slow.csv
printf '%s\n' file,channel,angle_deg,axial_mm tube1-ring1.wav,1,0,20 slow.csv,2,15,20 tube1-ring1.wav,3,30,20 >mixed.csv
scan --jobs 1 --out scan mixed.csv >/dev/null
echo "status $?"
cut -d, -f1-5 scan/readings.csv

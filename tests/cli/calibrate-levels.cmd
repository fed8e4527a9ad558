# levels by a sound wall and artificial delaminations; the gain of each trace is taken off
wall() { "$plyecho" simulate --quiet --layer carbon:3.2,plies=16,film=0.004,scatter=0.02 --delay-line pmma:14 --probe 10M:0.6 --snr 40 "$@"; }
wall --seed 1 --label gain_db=40 -o sound1.wav
"$plyecho" gain --db -6 sound1.wav -o sound2.wav
wall --seed 3 --label gain_db=40 --gap-depth 1.2 -o flaw1.wav
wall --seed 4 --label gain_db=40 --gap-depth 1.6 --cover 0.5 -o flaw2.wav
wall --seed 5 -o bare.wav
printf '[part]\nnominal_mm = 3.2\n[material]\nvelocity_m_s = 2950\nvelocity_u_m_s = 15\nattenuation_db_mm_mhz = 0.1\n' >tricycle.ini
"$plyecho" calibrate --procedure tricycle.ini --sound sound1.wav --sound sound2.wav --artificial flaw1.wav \
    --artificial flaw2.wav --into tricycle.ini --format csv; echo "status $?"
cat tricycle.ini
# sound places whose back walls differ by 12 dB at one gain are not of one coupling
wall --seed 1 --label gain_db=52 -o far.wav
"$plyecho" calibrate --procedure tricycle.ini --sound sound1.wav --sound far.wav --format csv --no-header; echo "status $?"
# without a gain in the traces an earlier one does not stay beside the new levels
sed 's/^reference_gain_db.*/reference_gain_db = 40/' tricycle.ini >nogain.ini
"$plyecho" calibrate --quiet --procedure nogain.ini --sound bare.wav --into nogain.ini >out.txt; echo "status $?"
grep -c reference_gain_db nogain.ini
"$plyecho" calibrate --procedure tricycle.ini --sound sound1.wav --format csv --no-header; echo "status $?"
"$plyecho" calibrate --procedure tricycle.ini --sound flaw1.wav; echo "status $?"
"$plyecho" calibrate --procedure tricycle.ini --sound sound1.wav --sound bare.wav; echo "status $?"
"$plyecho" calibrate --procedure tricycle.ini --sound sound1.wav --artificial sound2.wav; echo "status $?"
"$plyecho" calibrate --sound sound1.wav
"$plyecho" calibrate --artificial flaw1.wav

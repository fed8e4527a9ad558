# velocity and zero go into the procedure file, whose comments stay; thickness takes them from there
five_steps
printf '; tricycle 7\n[material]\nvelocity_m_s = 2800 ; of the sheet\n' >tricycle.ini
"$plyecho" calibrate --anvil pin --mode 2 --steps steps.csv --into tricycle.ini --date 2026-11-28 \
    --operator 'A. Tester' --instrument 'pulser #2' --probe 'P10 no. 7' --temperature 21.5 >out.txt; echo "status $?"
cat tricycle.ini
(sha256sum s1.wav s2.wav s3.wav s4.wav s5.wav | sha256sum | cut -c 1-64; sed -n 's/steps_digest = //p' tricycle.ini) | uniq -d | wc -l
"$plyecho" thickness --procedure tricycle.ini --format csv s3.wav
# in contact, by mode 1, the zero comes with it
for mm in 1 2 3 4 5; do
    "$plyecho" simulate --quiet --layer carbon:$mm --probe 10M:0.6 --snr 40 --seed $mm -o s$mm.wav
done
"$plyecho" calibrate --anvil pin --mode 1 --steps steps.csv --into contact.ini --date 2026-11-28T14:05 >out.txt; echo "status $?"
cat contact.ini
# a later calibration takes the place of the earlier one: what that said of operator and temperature goes
"$plyecho" calibrate --anvil ball --mode 1 --steps steps.csv --into tricycle.ini --date 2026-11-29T08:00Z >out.txt; echo "status $?"
cat tricycle.ini
# a text that no line can hold is refused, and nothing is written
cp tricycle.ini before.ini
"$plyecho" calibrate --anvil ball --mode 1 --steps steps.csv --into tricycle.ini --operator 'the "B" # 2' >out.txt; echo "status $?"
cmp before.ini tricycle.ini

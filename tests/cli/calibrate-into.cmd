# velocity and zero go into the procedure file, whose comments stay; thickness takes them from there
five_steps
printf '; tricycle 7\n[material]\nvelocity_m_s = 2800 ; of the sheet\n' >tricycle.ini
"$plyecho" calibrate --anvil pin --mode 2 --steps steps.csv --into tricycle.ini --date 2020-11-28 \
    --operator 'A. Tester' --instrument 'pulser #2' --probe 'P10 no. 7' --temperature 21.5 >out.txt; echo "status $?"
cat tricycle.ini
(sha256sum s1.wav s2.wav s3.wav s4.wav s5.wav | sha256sum | cut -c 1-64; sed -n 's/steps_digest = //p' tricycle.ini) | uniq -d | wc -l
"$plyecho" thickness --procedure tricycle.ini --format csv s3.wav
# in contact, by mode 1, the zero comes with it
for mm in 1 2 3 4 5; do
    "$plyecho" simulate --quiet --layer carbon:$mm --probe 10M:0.6 --snr 40 --seed $mm -o s$mm.wav
done
"$plyecho" calibrate --anvil pin --mode 1 --steps steps.csv --into contact.ini --date 2020-11-28T14:05 >out.txt; echo "status $?"
cat contact.ini
# a later calibration takes the place of the earlier one: what that said of operator and temperature goes
"$plyecho" calibrate --anvil ball --mode 1 --steps steps.csv --into tricycle.ini --date 2020-11-29T08:00Z >out.txt; echo "status $?"
cat tricycle.ini
# the calibration by mode 2 tells no zero: the one of mode 1 goes, which these steps did not give; the mode stays
sed -i 's/^date = .*/date = 2020-11-27/' contact.ini
chmod 640 contact.ini
five_steps
"$plyecho" calibrate --anvil pin --mode 2 --steps steps.csv --into contact.ini --date 2020-11-28 >out.txt; echo "status $?"
stat -c %a contact.ini
grep -c -e zero contact.ini
# the freedom of the line is written down, not guessed: a free zero takes one more
"$plyecho" calibrate --anvil pin --mode 2 --zero free --steps steps.csv --into free.ini --date 2020-11-28 --format json | grep -o '"freedom": [0-9]*'
grep freedom free.ini
"$plyecho" thickness --procedure free.ini --budget --format csv --no-header s3.wav | grep ,velocity, | cut -d , -f 13
# one step leaves none: its small uncertainty is not passed off as a sure one
sed -n 1,2p steps.csv >one.csv
"$plyecho" calibrate --anvil pin --mode 2 --steps one.csv --into one.ini --date 2020-11-28 >out.txt; echo "status $?"
"$plyecho" thickness --procedure one.ini --budget --format text s3.wav | grep Doubtful
"$plyecho" thickness --quiet --procedure one.ini --budget --format json s3.wav | tail -n 1 | grep -o 'the velocity.s uncertainty rests'
# a text that no line can hold is refused, and nothing is written
cp tricycle.ini before.ini
"$plyecho" calibrate --anvil ball --mode 2 --steps steps.csv --into tricycle.ini --operator 'the "B" # 2' >out.txt; echo "status $?"
cmp before.ini tricycle.ini

# what cannot be is said in one line with its cure, and nothing is written
five_steps
try() { "$plyecho" calibrate --anvil ball --steps "${1:-bad.csv}" --into new.ini; }
sed 's/,1,2,/,1,0.0787,/' steps.csv >bad.csv; try
sed 's/0.002/0.000002/; s/,1,\([1-5]\),/,1,0.00\1,/' steps.csv >bad.csv; try
sed 's/,1,2,/,1,3.0,/' steps.csv >bad.csv; try
"$plyecho" simulate --quiet --sample-rate 50M --layer carbon:2 --delay-line pmma:14 --probe 10M:0.6 --snr 40 -o s2.wav; try steps.csv
five_steps
# the trace of a step of 4 mm has its echoes where the multiples of 2 mm are
printf 'file,channel,thickness_mm,thickness_u_mm\ns1.wav,1,1,0.002\ns4.wav,1,2,0.002\ns3.wav,1,3,0.002\ns5.wav,1,5,0.002\n' >bad.csv; try
printf 'file,channel,thickness_mm,thickness_u_mm\ns2.wav,1,1,0.002\ns4.wav,1,2,0.002\ns5.wav,1,2.5,0.002\n' >bad.csv; try
sed 's/s2.wav/none.wav/' steps.csv >bad.csv; try
sed 's/s2.wav,1/s2.wav,2/' steps.csv >bad.csv; try
head -2 steps.csv >bad.csv
"$plyecho" calibrate --steps bad.csv --zero free
"$plyecho" calibrate --steps steps.csv --zero few
"$plyecho" calibrate s1.wav
"$plyecho" calibrate
"$plyecho" calibrate --steps nowhere.csv
ls new.ini

# the pulse that is saved judges as the record that it was cut from, whose transmission pulse it leaves out
"$plyecho" simulate --uncoupled --delay-line pmma:10 --initial 1 --snr 45 --seed 4 -o air.wav
"$plyecho" simulate --layer carbon:3.2 --gap-depth 1.2 --cover 0.5 --delay-line pmma:10 --initial 1 --snr 40 --seed 8 -o part.wav
judge() { "$plyecho" assess --velocity 2950 --velocity-u 10 --nominal 3.2 --attenuation 0.1 --pulse "$1" --format csv part.wav | cut -d , -f 2-4,7; }
"$plyecho" probe --quiet --save pulse.wav --format csv air.wav | cut -d , -f 2
judge air.wav
judge pulse.wav
"$plyecho" probe --save pulse.csv --reflection -0.99 --no-header --format csv air.wav | cut -d , -f 2
head -n 12 pulse.csv | grep -E 'reference_reflection|start_us'
"$plyecho" probe --save air.wav air.wav >table
"$plyecho" probe --save new.wav missing.wav >table; echo "$?"
mkdir job
printf '; ours\n[part]\nname = tricycle 7\n' >job/tube.ini
"$plyecho" probe --save job/pulse.wav --into job/tube.ini air.wav >table
"$plyecho" probe --save pulse.wav --into job/tube.ini air.wav >table; echo "$?"
"$plyecho" probe --into job/tube.ini air.wav >table; echo "$?"
cat job/tube.ini
"$plyecho" assess --procedure job/tube.ini --velocity 2950 --nominal 3.2 --format csv part.wav | cut -d , -f 2-4
ls . job

probe_of() { "$plyecho" simulate --uncoupled --delay-line "pmma:$1" --probe "$2" --tail "$3" --level "$4" --label gain_db=20 --snr 45 --seed 4 -o "$5"; }
probe_of 10 10M:0.6 1 0.8 new.wav
probe_of 10 10M:0.6 1 0.7 same.wav
probe_of 9.8 8M:0.45 2 0.2 worn.wav
"$plyecho" probe --save pulse.wav new.wav >table
"$plyecho" probe --compare pulse.wav --format csv same.wav | cut -d , -f 2,3,7-
"$plyecho" probe --compare pulse.wav same.wav >table; echo "$?"
"$plyecho" probe --compare pulse.wav --format csv worn.wav | cut -d , -f 3,6-
"$plyecho" probe --compare pulse.wav worn.wav >table; echo "$?"
"$plyecho" probe --compare pulse.wav --frequency-limit 30 --bandwidth-limit 60 --length-limit 90 --level-limit 20 --likeness-limit 0.5 worn.wav >table; echo "$?"

# the script alone needs no gnuplot
"$plyecho" simulate --uncoupled --delay-line pmma:10 --probe 10M:0.5 --snr 50 --seed 5 -o "it's.wav"
"$plyecho" simulate --uncoupled --delay-line pmma:10 --probe 9M:0.5 --snr 50 --seed 6 -o other.wav
"$plyecho" probe --plot pulse.gp "it's.wav" >table
grep -E -c '^-?[0-9]' pulse.gp
grep -E '^(set title|plot|set (x|y)label)' pulse.gp
"$plyecho" probe --plot pulse.gp --compare other.wav "it's.wav" >table
grep -o "title 'Earlier'" pulse.gp

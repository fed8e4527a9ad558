"$plyecho" simulate --uncoupled --delay-line pmma:10 --channels 2 --snr 40 -o two.wav
try() { "$plyecho" probe "$@" | tail -n +2 | tr -s ' '; }
try --save pulse.wav two.wav
try --channel 3 two.wav
try --channel 2 --from 1 --to 2 two.wav
try --plot picture.bmp --channel 1 two.wav
try --save pulse.mp3 --channel 1 two.wav
try --save pulse.wav two.wav two.wav
try --compare two.wav --channel 1 two.wav
try --compare missing.wav --channel 1 two.wav
try --reflection 0 two.wav
"$plyecho" envelope -o envelope.wav two.wav
try --channel 1 envelope.wav
"$plyecho" probe --channel 1 envelope.wav >table; echo "$?"
ls

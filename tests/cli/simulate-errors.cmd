try() { "$plyecho" simulate "$@" -o out.wav; echo "$?"; }
try
try --layer carbn:3.2
try --layer carbon:3,2
try --layer carbon:3.2 --gap-after 2
try --layer carbon:3.2 --probe 10M
try --layer carbon:3.2 --probe 40M:0.6
try --layer carbon:3.2 --delay-line pmma:100
try --layer carbon:3.2 --delay-line pmma:10 --face steel
try --layer carbon:3.2 --label part
try --layer carbon:3.2 --channels 2000
printf -- '--snr 40\n--snr forty\n' > cases.txt
try --layer carbon:3.2 --cases cases.txt
try --layer carbon:3.2 --cases cases.txt --channels 2
printf -- "--snr 40\n\n--gap-depth 5\n" > cases.txt
try --layer carbon:3.2 --cases cases.txt
try --layer carbon:3.2 --cases missing.txt
try --layer carbon:3.2 trace.wav
ls

# no verdict leans on a front that was not recorded, or on contact that nothing states
wall="--layer carbon:10 --delay-line pmma:10 --snr 40 --seed 3"
set="--velocity 2942 --velocity-u 10 --attenuation 0.1"
"$plyecho" simulate --quiet $wall --start 9 --samples 2048 -o late.wav
"$plyecho" simulate --quiet $wall --start 5 --gap-depth 5.6 --cover 0.6 --samples 900 -o short-line.wav
"$plyecho" assess $set --nominal 10 --pulse "$traces/reference.wav" --format csv --no-header late.wav | cut -d , -f 3-6,15
"$plyecho" assess $set --nominal 10 --format csv --no-header short-line.wav | cut -d , -f 3-6,15

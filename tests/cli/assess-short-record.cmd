# a record that ends before the back wall, or noise that hides what matters, is unreadable
wall="--layer carbon:3.2 --delay-line pmma:10 --start 5 --seed 3"
"$plyecho" simulate --quiet $wall --snr 44 --samples 450 --gap-depth 1.2 --cover 0.2 -o short.wav
"$plyecho" simulate --quiet $wall --snr 8 -o noisy.wav
set="--velocity 2942 --velocity-u 10 --nominal 3.2 --attenuation 0.1"
"$plyecho" assess $set --format csv --no-header short.wav noisy.wav | cut -d , -f 1,3-6,15

# mode 1 without a zero has no uncertainty; mode 3 cannot be had where the record is short
"$plyecho" simulate --quiet --layer carbon:3 --delay-line pmma:10 --probe 10M:0.6 --snr 50 --seed 4 -o wall.wav
for mode in 2 3; do
    "$plyecho" thickness --velocity 2950 --velocity-u 10 --mode $mode --no-header --format csv wall.wav | cut -d , -f 5,10
done
"$plyecho" thickness --velocity 2950 --velocity-u 0 --mode 2 --nominal 4 --no-header --format csv wall.wav | cut -d , -f 10
"$plyecho" thickness --velocity 2950 --mode 2 --no-header --format csv wall.wav | cut -d , -f 4
"$plyecho" thickness --velocity 2950 --mode 4 wall.wav

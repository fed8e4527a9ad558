"$plyecho" simulate --uncoupled --delay-line pmma:10 --probe 5M:0.6 --initial 1 --snr 50 --seed 4 --sample-rate 100M -o air.wav
"$plyecho" simulate --uncoupled --delay-line pmma:10 --probe 10M:0.5 --tail 2 --snr 50 --seed 5 --sample-rate 100M -o ring.wav
"$plyecho" probe air.wav ring.wav | tr -s ' '
"$plyecho" probe --format csv --from 10 --to 16 --reflection 0.3 air.wav | cut -d , -f 1-3,6

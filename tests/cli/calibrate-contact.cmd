# in contact the first step shows a second back-wall echo, the last does not: one mode suits all
echo file,channel,thickness_mm,thickness_u_mm >steps.csv
for mm in 1 2 3 4 5; do
    "$plyecho" simulate --quiet --layer carbon:$mm --initial 1 --probe 10M:0.6 --snr 40 --samples 600 \
        --seed $mm -o s$mm.wav
    echo s$mm.wav,1,$mm,0.002 >>steps.csv
done
"$plyecho" calibrate --anvil ball --steps steps.csv --format csv --no-header | cut -d , -f 5,7,8
"$plyecho" calibrate --anvil ball --steps steps.csv --mode 3
# a trace that suits no mode
"$plyecho" simulate --quiet --uncoupled --delay-line pmma:14 --probe 10M:0.6 --snr 40 -o s3.wav
"$plyecho" calibrate --anvil ball --steps steps.csv

# two echoes at known places; an envelope has no polarity
"$plyecho" simulate --quiet --layer carbon:3 --delay-line pmma:10 --probe 10M:0.6 --snr 60 --seed 4 -o wall.csv
"$plyecho" echoes --least-level -12 --format csv wall.csv | cut -d , -f 1-4,6,7
"$plyecho" envelope wall.csv | "$plyecho" echoes --least-level -12 --no-header --format csv | cut -d , -f 3,6-8
"$plyecho" echoes --from 8 --to 10 --most 1 --no-header --format csv wall.csv | cut -d , -f 3,4

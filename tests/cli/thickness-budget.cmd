# what is stated counts, what is not is said; the sum is the thickness' own uncertainty
"$plyecho" simulate --quiet --layer carbon:3 --delay-line pmma:10 --probe 10M:0.6 --snr 50 --seed 4 -o wall.wav
"$plyecho" thickness --velocity 2950 --velocity-u 10 --budget --no-header --format csv wall.wav | cut -d , -f 3,4
echo "--- nothing of the velocity"
"$plyecho" thickness --velocity 2950 --budget --format text wall.wav | grep -E "^(velocity|combined)|No uncertainty"
echo "--- once a run thickness and assess say what is missing, in text"
"$plyecho" thickness --velocity 2950 --velocity-u 10 --nominal 3 --format text wall.wav wall.wav | grep lacks
"$plyecho" assess --velocity 2950 --velocity-u 10 --nominal 3 --format text wall.wav wall.wav | grep lacks
echo "--- everything"
cat >all.ini <<'INI'
[part]
curvature_u_mm = 0.004
[equipment]
couplant_limit_us = 0.004
clock_limit_ppm = 0
[material]
velocity_m_s = 2957.5
velocity_u_m_s = 7
velocity_per_c_m_s = -1.5
velocity_per_c_u_m_s = 0.4
temperature_c = 25
temperature_limit_c = 4
[calibration]
temperature_c = 20
steps = 5
freedom = 4
INI
"$plyecho" thickness --procedure all.ini --budget --format text wall.wav
"$plyecho" thickness --quiet --procedure all.ini --format text wall.wav | grep -c lacks
"$plyecho" thickness --quiet --procedure all.ini --budget --format json wall.wav | tail -n 1 | grep -o '"u": [0-9.e-]*' >budget
"$plyecho" thickness --quiet --procedure all.ini --format json wall.wav | grep -o '"thickness_u_mm": [0-9.e-]*' >alone
"$plyecho" assess --quiet --procedure all.ini --format json wall.wav | grep -o '"thickness_u_mm": [0-9.e-]*' | head -n 1 >judged
cut -d ' ' -f 2 budget alone | uniq | wc -l
cut -d ' ' -f 2 budget judged | awk 'NR == 1 { u = $1 } END { print ($1 > 0.9 * u ? "assess has it too" : "assess lacks it") }'
echo "--- no wall"
"$plyecho" thickness --velocity 2950 --mode 3 --budget --no-header --format csv "$traces/reference.wav" | cut -d , -f 3,4,18

# through four filters and two containers, every label arrives
"$plyecho" simulate --quiet --layer carbon:3 --delay-line pmma:10 --probe 10M:0.6 --snr 50 --seed 4 -o wall.csv
sed -i '1i # part: tricycle 9\n# angle_deg: 30\n# shift: night' wall.csv
"$plyecho" bandpass --band 4M:16M wall.csv | "$plyecho" gain --db 6 | "$plyecho" convert --to wav |
    "$plyecho" envelope --to csv | grep -E '^# (part|angle_deg|shift|signal|gain_db)'

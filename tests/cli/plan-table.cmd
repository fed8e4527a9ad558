"$plyecho" plan --probe 10M:0.6 --face-diameter 6 --delay-line pmma:10 --layer carbon:3.2 --tube-diameter 28.6 --length 180 --least-depth 0.4 --reference-snr 45 --format csv | grep -v '^warning' | cut -d , -f 1-3
"$plyecho" plan --layer z=4.65,v=3000,d=3 --delay-line pmma:10 --face-diameter 6 --reference-snr 40 | grep -c '^warning'

# each of these parts and probes has something that a practitioner would warn of
warns() { "$plyecho" plan --format csv "$@" | grep '^warning' | cut -d , -f 2 | tr '\n' ' '; echo; }
exact=z=4.65,v=3000,a=0.1
warns --layer carbon:3.2 --delay-line pmma:10
warns --layer $exact,d=3.2 --reference-snr 40 --face-diameter 2 --probe 5M:0.6 --delay-line pmma:10
warns --layer $exact,d=3.2 --reference-snr 40 --face-diameter 6 --probe 5M:0.6 --delay-line pmma:10
warns --layer $exact,d=3.2 --reference-snr 40 --face-diameter 6 --probe 5M:0.6 --delay-line pmma:10 --tube-diameter 28.6
warns --layer $exact,d=3.2 --reference-snr 40 --face-diameter 1 --delay-line pmma:10 --tube-diameter 20
warns --layer $exact,d=3.2 --reference-snr 40 --face-diameter 2 --probe 5M:0.6 --delay-line pmma:2
warns --layer $exact,d=3.2 --reference-snr 40 --face-diameter 2 --probe 5M:0.6 --delay-line pmma:5
warns --layer $exact,d=3.2 --reference-snr 40 --face-diameter 2 --probe 5M:0.6
warns --layer $exact,d=3.2,plies=13 --reference-snr 40 --face-diameter 2 --probe 5M:0.6 --delay-line pmma:10
warns --layer $exact,d=3.2 --reference-snr 20 --face-diameter 2 --probe 5M:0.6 --delay-line pmma:10
warns --layer z=4.65,v=3000,a=0.5,d=5 --reference-snr 80 --face-diameter 2 --probe 5M:0.6 --delay-line pmma:10
warns --layer $exact,d=3.2 --reference-snr 40 --face-diameter 2 --probe 5M:0.6 --delay-line pmma:10 --least-depth 0.1
warns --layer $exact,d=0.3 --reference-snr 40 --face-diameter 2 --probe 5M:0.6 --delay-line pmma:10
warns --layer $exact,d=3.2 --coat filler:0.1 --reference-snr 40 --face-diameter 2 --probe 5M:0.6 --delay-line pmma:10
# in a water path no face lies on the tube: no wedge, and no advice to go into water
"$plyecho" plan --layer carbon:3.2 --delay-line water:20 --face-diameter 6 --tube-diameter 28.6 --format csv --no-header | grep -E 'contact_|curved-surface|wedge|nozzle'

try() { "$plyecho" plan "$@"; echo "$?"; }
try
try --layer carbn:3.2
try --layer carbon
try --layer carbon:3.2 --face-diameter 30 --tube-diameter 28.6
try --layer carbon:3.2 --tube-diameter 6
try --layer carbon:3.2 --least-depth 3.2
try --layer carbon:3.2 --probe 10
try --layer carbon:3.2 --couplant z=1.5
try --layer carbon:3.2 --temperature 120
try --layer carbon:3.2 --delay-line pmma:10 --face steel
# slips of unit: what the procedure file would refuse is not planned
try --layer carbon:3.2 --probe 10:0.6
try --layer carbon:3.2 --probe 10M:60
try --layer carbon:0.0032
try --layer carbon:3.2 --delay-line pmma:0.01
try --layer carbon:3.2 --face-diameter 0.006
try --layer carbon:3.2 --tube-diameter 0.0286

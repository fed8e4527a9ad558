# A coat that is parted from the wall is told, and left out of the thickness: 0.3 mm of filler on 3.2 mm,
# 0.25 us there and back at the 2400 m/s that `simulate` takes for filler.
"$plyecho" simulate --quiet --coat filler:0.3 --layer carbon:3.2 --delay-line polystyrene:10 --probe 5M:0.6 \
    --start 5 --snr 40 --seed 2 -o coated.wav
"$plyecho" assess --velocity 2942 --velocity-u 10 --nominal 3.2 --attenuation 0.1 coated.wav |
    grep -E "^    (Wall|In front)"
"$plyecho" assess --velocity 2942 --velocity-u 10 --nominal 3.2 --attenuation 0.1 \
    "$traces/tricycle1-ring1.wav" | grep -c 'lies a coat' || :

# More than one reportable echo inside: how many, where and how strong, in words and in JSON; depths count
# from the wall's front. 1.6 mm carbon, 1.6 mm glass, 1.6 mm carbon: interfaces at 1.60 and 3.20 mm.
"$plyecho" simulate --quiet --layer carbon:1.6 --layer glass:1.6,z=6.5 --layer carbon:1.6 \
    --delay-line pmma:10 --start 5 --snr 44 --seed 4 -o two.wav
set="--velocity 2900 --velocity-u 30 --nominal 4.8 --attenuation 0.1"
"$plyecho" assess $set two.wav | grep '^    Echoes inside'
"$plyecho" assess $set --format json two.wav | grep -o '"inner_echoes": [^]]*]' |
    tr '{' '\n' | sed 's/\(_[a-z]*": -*[0-9]*\.[0-9]\)[0-9]*/\1/g'
# one inside, or none
"$plyecho" assess --procedure "$traces/tricycle.ini" "$traces/tricycle1-ring1.wav" |
    grep -c '^    Echoes inside' || :

# A 3.2 mm wall whose front and back-wall echo stand clear, told to be another. Too small a nominal is
# found wrong, with the wall as it is and never 'no coupling'; one that is somewhat too large may be a thin
# wall, one that is far too large looks like a full shadow, and the words say that it may be the nominal.
for nominal in 0.8 1.6 2.4 2.8 4.2 12; do
    echo "nominal $nominal"
    "$plyecho" assess --procedure "$traces/tricycle.ini" --nominal $nominal --format csv \
        --no-header "$traces/tricycle1-ring1.wav" | cut -d , -f 3-4,15 | sort | uniq -c
    "$plyecho" assess --velocity 2942 --attenuation 0.1 --nominal $nominal --format csv \
        --no-header "$traces/tricycle1-ring1.wav" | cut -d , -f 3-4,15 | sort | uniq -c
done
echo 'velocity of steel'
"$plyecho" assess --procedure "$traces/tricycle.ini" --velocity 5900 --format csv --no-header \
    "$traces/tricycle1-ring1.wav" | cut -d , -f 3-4,15 | sort | uniq -c
"$plyecho" assess --procedure "$traces/tricycle.ini" --nominal 1.6 "$traces/tricycle1-ring1.wav" |
    sed -n '3,4p;9p'
"$plyecho" assess --procedure "$traces/tricycle.ini" --nominal 1.6 --format csv --no-header \
    "$traces/tricycle1-ring3.csv" | cut -d , -f 2-4,15
"$plyecho" thickness --procedure "$traces/tricycle.ini" --nominal 1.6 --format csv --no-header \
    "$traces/tricycle1-ring1.wav" | cut -d , -f 2,10 | head -n 2

# A zero mark that was missed, angles counted the other way, another tube, a velocity that was changed.
. "$cases/compare.sh"
made before tube.ini "$fleet/tube1.csv"
moved tube1.csv '$3 = ($3 + 45) % 360' >turned.csv
moved tube1.csv '$3 = (360 - $3) % 360' >mirrored.csv
moved tube1.csv '$4 = $4 + 4' >pushed.csv
for how in turned mirrored pushed; do
    made $how tube.ini $how.csv
    "$plyecho" compare before $how >told
    echo "$how: status $?"
    grep '^zero mark' told
done
made another tube.ini "$fleet/tube3.csv"
"$plyecho" compare before another | grep '^zero mark'
"$plyecho" compare before another --format csv | sed -n '/^zero-mark/p'
# a ring is too little to tell
head -n 13 "$fleet/tube1.csv" | sed "s|^tube|$fleet/tube|" | cut -d , -f 1-4 | head -n 10 >few.csv
made few tube.ini few.csv
"$plyecho" compare before few | grep '^zero mark'
made faster tube.ini "$fleet/tube1.csv" --velocity 3020 --velocity-u 10
"$plyecho" compare before faster | grep '^walls'
# no uncertainty, no judgement
grep -v velocity_u tube.ini >unsure.ini
made unsure unsure.ini "$fleet/tube1.csv"
"$plyecho" compare before unsure | sed -n '/^walls/,/^A comp/p'

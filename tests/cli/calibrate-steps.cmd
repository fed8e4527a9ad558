# the fit as text, CSV and JSON; the anvil is asked for
five_steps
"$plyecho" calibrate --steps steps.csv
"$plyecho" calibrate --quiet --steps steps.csv --format csv | cut -d , -f 1-18
"$plyecho" calibrate --anvil ball --mode 2 --zero free --steps steps.csv --format csv | cut -d , -f 1-8
"$plyecho" calibrate --anvil ball --steps steps.csv --format json | grep -o '"steps": .{"line": 2, "thickness_mm": 1, "thickness_u_mm": 0.002'
# several channels in one file
"$plyecho" average --quiet s2.wav s2.wav -o two.wav
sed 's/s2.wav,1/two.wav,/' steps.csv >named.csv
"$plyecho" calibrate --anvil ball --steps named.csv --format csv | cut -d , -f 5

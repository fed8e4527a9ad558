# an option that would do nothing in a call is refused, and nothing is written
five_steps
"$plyecho" calibrate --check s1.wav --reference s2.wav --into new.ini --plot new.png
"$plyecho" calibrate --check s1.wav --reference s2.wav --plot new.png
"$plyecho" calibrate --check s1.wav --reference s2.wav --nominal 3
"$plyecho" calibrate --sound s1.wav --plot new.png
"$plyecho" calibrate --sound s1.wav --log new.csv
"$plyecho" calibrate --steps steps.csv --artificial s1.wav
"$plyecho" calibrate --steps steps.csv --reference s1.wav
"$plyecho" calibrate --steps steps.csv --operator 'A. Rider'
"$plyecho" calibrate --steps steps.csv --zero-u 0.01
"$plyecho" calibrate --steps steps.csv --zero free --zero-u 0.01
"$plyecho" probe --frequency-limit 3 s1.wav
# a velocity in km/s
"$plyecho" calibrate --steps steps.csv --velocity-range 2.2:3.6
# names are looked at before anything is written
"$plyecho" calibrate --anvil ball --steps steps.csv --plot new.jpg --into new.ini; echo "status $?"
"$plyecho" calibrate --anvil ball --steps steps.csv --plot new.png --into s2.wav; echo "status $?"
"$plyecho" calibrate --anvil ball --steps steps.csv --plot no/where.png --into new.ini >table.txt; echo "status $?"
"$plyecho" probe --save new.wav --into s2.wav s1.wav; echo "status $?"
ls

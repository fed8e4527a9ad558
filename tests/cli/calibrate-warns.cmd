# a calibration that is doubtful shows its warnings, has status 1, and does not go into a procedure
five_steps
sed 's/,1,3,/,1,3.15,/' steps.csv >off.csv
"$plyecho" calibrate --anvil ball --steps off.csv --format csv >out.csv; echo "status $?"
sed 's/.*[0-9a-f]\{64\},//' out.csv
"$plyecho" calibrate --anvil ball --steps off.csv --into new.ini >out.txt; echo "status $?"
"$plyecho" calibrate --anvil flat --nominal 6 --steps steps.csv >out.txt; echo "status $?"
grep Warning out.txt
"$plyecho" calibrate --anvil ball --velocity-range 5700:6200 --steps steps.csv >out.txt; echo "status $?"
head -3 steps.csv >two.csv
"$plyecho" calibrate --anvil ball --zero free --steps two.csv --format csv >out.csv; echo "status $?"
sed 's/.*[0-9a-f]\{64\},//' out.csv
ls new.ini

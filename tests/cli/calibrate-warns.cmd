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
# a procedure that names its material tells what velocity that can have
five_steps
printf '[material]\nmaterial = pmma\n' >pmma.ini
cp pmma.ini before.ini
"$plyecho" calibrate --quiet --anvil ball --steps steps.csv --into pmma.ini | grep Warning
"$plyecho" calibrate --quiet --anvil ball --steps steps.csv --procedure pmma.ini | grep Warning
"$plyecho" calibrate --quiet --anvil ball --steps steps.csv --procedure pmma.ini --velocity-range 2200:3600 | grep -c Warning
cmp before.ini pmma.ini
sed -i 's/pmma/carbon/' pmma.ini
"$plyecho" calibrate --quiet --anvil ball --steps steps.csv --into pmma.ini --date 2026-11-28 >table.txt; echo "status $?"

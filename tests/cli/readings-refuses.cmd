# What is no log of readings, and what was asked in vain: one line with the cure each.
. "$cases/readings.sh"
try() { printf "$1" >bad.csv; shift; readings bad.csv "$@"; echo "status $?"; }
exec 2>&1
h='angle_deg,axial_mm,thickness_mm\n'
try ''
try "$h"
try "${h}0,20,\n15,20,\n"
try "${h}0,20,3.2\n15,20,-3.2\n"
try "${h}0,20,3.2\n15,20,0\n"
try "${h}0,20,3.2\n15,20,---\n"
try "${h}0,20,3,2\n"
try "${h}0,,3.2\n"
try 'angle_deg,thickness_mm\n0,3.2\n'
try 'angle_deg,axial_mm,thickness_inch\n0,20,0.126\n'
try 'angle_deg,axial_mm,wall\n0,20,3.2\n'
try 'angle_deg,axial_mm,x_mm,y_mm,thickness_mm\n0,20,1,1,3.2\n'
try "${h}0,20,0.0032\n"
try "${h}0,20,0.0032\n" --nominal 3.2
try "${h}0,20,0.126\n" --nominal 3.2
try "${h}0,20,3200\n" --nominal 3.2
try "${h}0,20,126\n" --nominal 3.2
try "${h}0,20,0.2\n" --nominal 3.2
try "${h}0,20,0.126\n" --nominal 0.126
try "${h}0,20,0.25\n"
printf '[part]\nnominal_mm = 0.126\n' >foil.ini
try "${h}0,20,0.126\n" --procedure foil.ini | head -n 2
printf '[part]\nnominal_mm = 0.126 at 0, 0.13 at 40\n' >foil.ini
try "${h}0,20,0.126\n" --procedure foil.ini | head -n 2
try "${h}0,20,0.15\n" --procedure foil.ini --nominal 0.15 | head -n 2
try "${h}0,20,0.6\n" --nominal 0.6 | head -n 1
try "${h}0,20,3.2\n" --nominal 3.2 --tolerance 3.2
try "${h}0,20,3.2\n" --procedure bad.csv
try 'angle_deg,axial_mm,thickness_mm,thickness_u_mm\n0,20,3.2,-0.1\n'
readings a.csv b.csv; echo "status $?"
readings missing.csv; echo "status $?"
printf "${h}0,20,3.2\n1.57,20,3.2\n3.14,20,3.2\n4.71,20,3.2\n" >radians.csv
readings radians.csv >out; echo "status $?"
readings "$fleet/tube1.csv"; echo "status $?"
readings "$fleet/tube1-ring1.wav"; echo "status $?"
"$plyecho" scan "$fleet/tube1.csv" --procedure "$traces/fleet/tube.ini" --pictures none --out scanned >out 2>&1
readings scanned/readings.csv --nominal 3.2; echo "status $?"

# Readings against micrometer and cuts: walls, delaminations, what was not scanned.
. "$cases/compare.sh"
made tube3 tube.ini "$fleet/tube3.csv"
# from the truth of the simulation: every fourth place; a micrometer sees the wall of sound places, a saw the rest
awk -F, -v OFS=, '
    NR == 1 { print "angle_deg,axial_mm,thickness_mm,thickness_u_mm,indication_depth_mm"; next }
    !/^tube3-ring/ || ++n % 4 != 1 || $3 == "edge" || $3 == "attenuated" { next }
    $3 == "delamination" { print $6, $5, "", "", $8; next }
    { print $6, $5, $7, 0.002, "none" }' "$fleet/truth.csv" >sections.csv
grep -c . sections.csv
try "$plyecho" compare --truth sections.csv tube3
"$plyecho" compare --truth sections.csv tube3 --format csv | grep -v '^wall,within\|^cut,\(clear\|found\)'
"$plyecho" compare --truth sections.csv tube3 --format json | sed -n '1p;$p'

# a flat anvil, a missed and a false call, a depth that is another, places elsewhere; a decimal comma
cat >doubts.csv <<'END'
angle_deg;axial_mm;thickness_mm;indication_depth_mm
0;20;3,45;
-15;20;3,43;
30;20;3,46;none
195;36;;none
195;32;;1,2
0;40;;1,5
300;32;;1,0
300;200;3,2;
359;20;;
END
try "$plyecho" compare --truth doubts.csv tube3
try "$plyecho" compare --truth doubts.csv tube3 --depth-tolerance 0.5 | grep -c 'another depth'

# a plate
sed 's/^angle_deg,axial_mm/x_mm,y_mm/' sections.csv >plate.csv
grep -v '^diameter_mm\|^angle_direction' tube.ini >plate.ini
{ echo file,channel,x_mm,y_mm; tail -n +2 "$fleet/tube1.csv" | sed "s|^tube|$fleet/tube|"; } >plate-scan.csv
made plate plate.ini plate-scan.csv
printf 'x_mm,y_mm,thickness_mm\n15,20,3.234\n30,20,3.240\n' | try "$plyecho" compare --truth - plate

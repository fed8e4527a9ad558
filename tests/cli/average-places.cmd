# Shots of one place are meant: labels that say otherwise are told, and dropped.
. "$cases/echoes.sh"
for angle in 0 15; do { echo '# part: tricycle 7 steerer'; echo "# angle_deg: $angle"; echoes_csv; } >at$angle.csv; done
{ echo '# angle_deg: 15'; echo '# axial_mm: 40'; echoes_csv; } >bare.csv
"$plyecho" average at0.csv at15.csv | grep '^# \(part\|angle_deg\|averaged\)'
"$plyecho" average at0.csv at15.csv bare.csv | grep '^# \(part\|angle_deg\|axial_mm\|averaged\)'
"$plyecho" average at15.csv at15.csv | grep '^# \(part\|angle_deg\|averaged\)'
"$plyecho" average --quiet at0.csv at15.csv >quiet.csv
echo "status $?"

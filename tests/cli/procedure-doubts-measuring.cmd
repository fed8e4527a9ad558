# what a procedure leaves to doubt is said where it is used: an old calibration on steps that do not span the wall
five_steps
cat >old.ini <<'INI'
[part]
nominal_mm = 3
[material]
velocity_m_s = 2950
velocity_u_m_s = 5
attenuation_db_mm_mhz = 0.1
[calibration]
date = 2020-01-01
valid_days = 30
steps = 3
freedom = 2
steps_least_mm = 6
steps_most_mm = 9
INI
days() { sed 's/is [0-9]* days ago/is N days ago/g'; } # it grows
"$plyecho" thickness --procedure old.ini s3.wav 2>&1 >out.txt | days
"$plyecho" assess --procedure old.ini --format json s3.wav 2>said.txt | grep -o '"procedure_doubts": "[^"]*"' | days
days <said.txt
echo "--- quiet: the table still has them"
"$plyecho" thickness --quiet --procedure old.ini --format json s3.wav | grep -o '"procedure_doubts": "[^"]*"' | days
echo "--- an option may mend it; what is not stated is for procedure check to say"
printf '[material]\nvelocity_m_s = 2950\nvelocity_u_m_s = 5\n' >brief.ini
"$plyecho" thickness --procedure brief.ini --nominal 3 --format json s3.wav | grep -o '"procedure_doubts": null'
sed -i '/valid_days/d' old.ini
"$plyecho" thickness --procedure old.ini --nominal 8 --format json s3.wav | grep -o '"procedure_doubts": null'

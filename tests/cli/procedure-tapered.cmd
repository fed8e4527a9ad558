# nominal and diameter against axial_mm: interpolated, said where there is none, overridden by the option
cat >tapered.ini <<'INI'
[part]
nominal_mm = 3.8 at 0, 3.2 at 60, 3.2 at 120
nominal_tolerance_mm = 0.25
[material]
velocity_m_s = 2942
velocity_u_m_s = 10
attenuation_db_mm_mhz = 0.1
[layers]
INI
nominal() { grep -o 'nominal [0-9.]* mm' | sort | uniq -c | sed 's/^ *//'; }
for ring in 1.wav 2.wav 3.csv; do
    echo "--- ring $ring"
    "$plyecho" assess --procedure tapered.ini --format text "$traces/tricycle1-ring$ring" | nominal
done
echo "--- the option wins"
"$plyecho" assess --procedure tapered.ini --nominal 3.1 --format text "$traces/tricycle1-ring3.csv" | nominal
echo "--- off the nominal there"
sed 's/3.8 at 0/4.4 at 0/' tapered.ini >thick.ini
"$plyecho" thickness --procedure thick.ini --format csv "$traces/tricycle1-ring1.wav" | cut -d , -f 2,10 | head -n 3
echo "--- no label"
"$plyecho" convert --to csv -o all.csv "$traces/tricycle1-ring1.wav"
sed '/axial_mm/d' all.csv >none.csv
"$plyecho" thickness --procedure tapered.ini --format csv none.csv | cut -d , -f 2,10 | head -n 2
echo "--- layers must add up to it"
printf 'carbon = 2.1 mm, 2900 m/s\nsleeve = 1.4 mm\n' >>tapered.ini
"$plyecho" assess --procedure tapered.ini --format csv "$traces/tricycle1-ring1.wav" "$traces/tricycle1-ring2.wav" | cut -d , -f 2 | tail -n 1

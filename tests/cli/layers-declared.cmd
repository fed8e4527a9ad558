# what is declared is not flagged, each layer is measured; undeclared it is flagged
ring=$traces/tricycle2-ring1.wav
glue="glue = 0.12 mm, u 0.01 mm, 2770 m/s, u 50 m/s, 3.16 MRayl, 0.3 dB/mm/MHz"
glass="glass = 1.1 mm, u 0.05 mm, 2790 m/s, u 15 m/s, 5.3 MRayl"
cat >sleeve.ini <<END
[material]
velocity_m_s = 2942
velocity_u_m_s = 10
attenuation_db_mm_mhz = 0.1
[layers]
carbon = 3.2 mm, u 0.05 mm, 4.65 MRayl
$glue
$glass
END
"$plyecho" assess --procedure sleeve.ini --format csv "$ring" >table; echo "procedure $?"
cut -d , -f 1-5 <table | head -n 3 | sed 's/\(\.[0-9][0-9][0-9]\)[0-9]*$/\1/'
# to a micrometre: the last digits of a fit are the machine's own
sed -n 's/.*\("layers": .*\)/\1/p' <<END | sed 's/\([0-9]\.[0-9][0-9][0-9]\)[0-9]*/\1/g'
$("$plyecho" assess --procedure sleeve.ini --format json "$ring" | head -n 1)
END
"$plyecho" assess --velocity 2942 --velocity-u 10 --attenuation 0.1 --format csv \
    --layers "carbon = 3.2 mm, u 0.05 mm, 4.65 MRayl; $glue; $glass" "$ring" | cut -d , -f 3-6 >option
cut -d , -f 3-6 table | cmp - option && echo "the option says the same as the file"
"$plyecho" assess --procedure sleeve.ini --layers "carbon = 4.4 mm" --format csv "$ring" >table; echo "option wins $?"
"$plyecho" assess --procedure sleeve.ini --format csv --no-header "$traces/tricycle1-ring1.wav" | head -n 1 | cut -d , -f 3,4
"$plyecho" thickness --procedure sleeve.ini --format csv --no-header "$ring" | head -n 1 | cut -d , -f 3,4

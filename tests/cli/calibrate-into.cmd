# velocity and zero go into the procedure file, whose comments stay; thickness takes them from there
five_steps
printf '; tricycle 7\n[material]\nvelocity_m_s = 2800 ; of the sheet\n' >tricycle.ini
"$plyecho" calibrate --anvil pin --mode 2 --steps steps.csv --into tricycle.ini >out.txt; echo "status $?"
cat tricycle.ini
"$plyecho" thickness --procedure tricycle.ini --format csv s3.wav
# in contact, by mode 1, the zero comes with it
for mm in 1 2 3 4 5; do
    "$plyecho" simulate --quiet --layer carbon:$mm --probe 10M:0.6 --snr 40 --seed $mm -o s$mm.wav
done
"$plyecho" calibrate --anvil pin --mode 1 --steps steps.csv --into contact.ini >out.txt; echo "status $?"
cat contact.ini

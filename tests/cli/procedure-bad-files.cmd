# what is no sound procedure is refused in one line by whatever reads or changes it, and nothing is written
ring=$traces/tricycle1-ring1.wav
five_steps
"$plyecho" simulate --quiet --uncoupled --delay-line pmma:10 --snr 45 --seed 4 -o air.wav
printf '[part]\nnominal_mm = 3.2\nnominal_mm = 3.3\n' >twice.ini
printf '[part]\nnominal_mm = 3.2\n[materials]\nvelocity_m_s = 2950\n' >section.ini
printf '[part]\nnominal_mm = 0.0032\n' >metres.ini
printf '[acceptance]\nleast_mm = 3.4\n[part]\nnominal_mm = 3.2\n' >least.ini
printf '\377\376[\000p\000' >utf16.ini
cp "$ring" ring.wav
"$plyecho" convert --to csv ring.wav -o ring.csv
: >table.txt
"$plyecho" assess --velocity 2950 --procedure metres.ini "$ring"; echo "metres.ini assess $?"
for file in twice.ini section.ini least.ini utf16.ini ring.wav ring.csv; do
    cp $file before
    echo "$file:" >&2
    "$plyecho" assess --velocity 2950 --procedure $file "$ring"; echo "$file assess $?"
    "$plyecho" calibrate --quiet --anvil ball --steps steps.csv --date 2026-11-28 --into $file >>table.txt; echo "$file calibrate $?"
    "$plyecho" plan --layer carbon:3.2 --into $file; echo "$file plan $?"
    "$plyecho" probe --save pulse.wav --into $file air.wav >>table.txt; echo "$file probe $?"
    cmp before $file
done

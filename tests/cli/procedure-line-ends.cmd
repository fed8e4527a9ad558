# a byte-order mark and carriage returns are read as they are, and stay when a value is put in
ring=$traces/tricycle1-ring1.wav
printf '\357\273\277[part]\r\nnominal_mm = 3.2\r\n[material]\r\nvelocity_m_s = 2942\r\nvelocity_u_m_s = 10\r\n' >windows.ini
"$plyecho" assess --procedure windows.ini --format csv "$ring" | sed -n 2p | cut -d , -f 3,5,6
five_steps
"$plyecho" calibrate --quiet --anvil ball --steps steps.csv --date 2026-11-28 --into windows.ini >table.txt; echo "status $?"
od -c windows.ini | head -n 2
grep -vc "$(printf '\r')\$" windows.ini || echo "no line ends in another way"

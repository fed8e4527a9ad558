# what is wrong with a procedure or a pulse is said with its file, and nothing is printed
ring=$traces/tricycle1-ring1.wav
printf '[material]\nvelocty_m_s = 2950\n' >typo.ini
"$plyecho" assess --procedure typo.ini "$ring"
"$plyecho" assess --procedure missing.ini "$ring"
awk 'BEGIN { print "time_us,amplitude"; for (i = 0; i < 200; i++) print i / 100 "," 0 }' >silence.csv
"$plyecho" assess --velocity 2950 --pulse silence.csv "$ring"
"$plyecho" assess --velocity 2950 --band 4M:80M "$ring"
"$plyecho" assess --velocity 2950 --attenuation -1 "$ring"

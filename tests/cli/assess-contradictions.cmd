# options are held against the procedure: an acceptance limit above the wall, a wall in metres
ring=$traces/tricycle1-ring1.wav
printf '[part]\nnominal_mm = 3.2\nnominal_tolerance_mm = 0.3\n[material]\nvelocity_m_s = 2942\n[acceptance]\nleast_mm = 3.0\n' >tube.ini
"$plyecho" assess --procedure tube.ini --nominal 2.9 --format csv "$ring" | cut -d , -f 3,4 | uniq -c; echo "status $?"
"$plyecho" assess --procedure tube.ini --nominal 0.0032 "$ring"; echo "status $?"
"$plyecho" assess --procedure tube.ini --nominal 0.25 "$ring"; echo "status $?"
"$plyecho" assess --procedure tube.ini --velocity-u 3000 "$ring"; echo "status $?"
printf '[material]\nvelocity_m_s = 2942\n[acceptance]\nleast_mm = 3.5\n[layers]\ncarbon = 3.2 mm\n' >layers.ini
"$plyecho" assess --procedure layers.ini "$ring"; echo "status $?"
"$plyecho" assess --procedure tube.ini --layers '3.2 mm' "$ring"; echo "status $?"

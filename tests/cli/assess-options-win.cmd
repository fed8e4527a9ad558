# an option wins over the procedure; a velocity of its own does not inherit the other's uncertainty
ring=$traces/tricycle1-ring1.wav
"$plyecho" assess --procedure "$traces/tricycle.ini" --velocity 1471 --nominal 1.6 --format csv --no-header "$ring" | head -n 1 | cut -d , -f 5,6
"$plyecho" assess --procedure "$traces/tricycle.ini" --velocity-u 0 --format csv --no-header "$ring" | head -n 1 | cut -d , -f 5

# the first fifteen columns are fixed
"$plyecho" assess --velocity 2942 --format csv "$traces/tricycle1-ring1.wav" | head -n 1 | cut -d , -f 1-15

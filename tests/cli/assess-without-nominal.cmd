# without a nominal wall the reason says what the verdict rests on
"$plyecho" assess --velocity 2942 --format csv --no-header "$traces/tricycle1-ring1.wav" | cut -d , -f 3,4,15 | head -n 1
"$plyecho" assess --velocity 2942 "$traces/tricycle1-ring1.wav" | sed -n 2,3p

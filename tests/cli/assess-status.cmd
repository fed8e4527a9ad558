# 0 nothing flagged, 1 something flagged, 2 trouble, also beside a verdict
sound="--velocity 2942 --velocity-u 10 --nominal 3.2 --attenuation 0.1"
"$plyecho" assess $sound --format csv "$traces/tricycle1-ring1.wav" | cut -d , -f 3,4 | sort | uniq -c | sed 's/^ *//'
"$plyecho" assess $sound --format csv "$traces/tricycle1-ring1.wav" >table; echo "sound $?"
"$plyecho" assess $sound --format csv "$traces/tricycle3-ring2.wav" >table; echo "delaminated $?"
: >empty.csv
"$plyecho" assess $sound --format csv "$traces/tricycle3-ring2.wav" empty.csv >table; echo "trouble $?"
wc -l <table

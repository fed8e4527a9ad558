# the same traces give the same bytes, and a second pass changes nothing
small_csv >a.csv
"$plyecho" convert --to wav a.csv >1.wav
sleep 1.1
"$plyecho" convert --to wav a.csv >2.wav
cmp 1.wav 2.wav
"$plyecho" convert 1.wav | cmp - 1.wav
"$plyecho" convert a.csv >b.csv
"$plyecho" convert --to csv 1.wav | cmp - b.csv

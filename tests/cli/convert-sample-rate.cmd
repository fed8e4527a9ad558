printf '0\n0.5\n-0.5\n0\n' >bare.csv
"$plyecho" convert bare.csv
echo "status $?"
"$plyecho" convert --sample-rate 50M bare.csv
small_wav | "$plyecho" convert --sample-rate 79.972e6 --to csv | head -n 3

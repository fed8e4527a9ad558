printf 'distance_mm,a\n0,0\n1.5,1\n3,-1\n4.5,0\n' >d.csv
"$plyecho" convert d.csv
echo "status $?"
"$plyecho" convert --velocity 3k d.csv

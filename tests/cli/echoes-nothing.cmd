# silence has no echoes, and that is said
awk 'BEGIN { print "time_us,amplitude"; for (i = 0; i < 200; i++) print i / 100 "," 0 }' >silence.csv
"$plyecho" echoes --format csv silence.csv
echo "status $?"

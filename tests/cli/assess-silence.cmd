# a trace in which nothing oscillates is unreadable, not trouble; the others are judged
awk 'BEGIN { print "# sample_rate_hz: 100000000\namplitude"; for (i = 0; i < 200; i++) print 0 }' >silence.csv
"$plyecho" assess --velocity 2942 --nominal 3.2 --format csv --no-header silence.csv "$traces/tricycle1-ring1.wav" |
    cut -d , -f 1-5,15 | head -n 2
"$plyecho" thickness --velocity 2942 --format csv --no-header silence.csv
"$plyecho" assess --velocity 2942 silence.csv | sed -n '2,$p'

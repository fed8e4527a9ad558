# more than a pipe holds, so that the program must notice: SIGPIPE ends it, 128 + 13, quietly
awk 'BEGIN { print "# sample_rate_hz: 1e8"; print "time_us,a"
    for (i = 0; i < 20000; i++) printf "%.2f,%d\n", i / 100, i % 7 - 3 }' >a.csv
{ "$plyecho" convert a.csv; echo $? >status; } | head -n 1
cat status

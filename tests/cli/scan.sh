# scan.sh - scans of the fleet's tubes without pictures, so that no gnuplot is needed

fleet=$traces/fleet
scan() { "$plyecho" scan --pictures none --procedure "$fleet/tube.ini" "$@"; }

# rings TUBE N: the manifest of a tube as far as its first N rings, their traces beside it
rings()
{
    head -n $((1 + 24 * $2)) "$fleet/tube$1.csv"
    for ring in $(seq "$2"); do cp "$fleet/tube$1-ring$ring.wav" .; done
}

# killed MANIFEST DIR RING: a scan that is killed when it has judged what comes before this ring. Its trace
# is a pipe meanwhile, which is opened when all before it is in the journal. `meanwhile DIR` runs ahead of the end.
killed()
{
    mv "$3" held
    mkfifo "$3"
    "$plyecho" scan --pictures none --procedure "$fleet/tube.ini" --jobs 1 --out "$2" "$1" &
    exec 9>"$3"
    meanwhile "$2"
    kill -KILL $!
    wait $! 2>/dev/null
    echo "killed: status $?"
    exec 9>&-
    rm "$3"
    mv held "$3"
}
meanwhile() { :; }

# shot OPTION...: a trace of one shot, as the fleet's recorder takes them
shot()
{
    "$plyecho" simulate --quiet --delay-line pmma:10 --line-repeat 0.3 --probe 10M:0.6 --tail 1.5 --phase 40 \
        --start 5 --full-scale 2.048 --level 1.8 --snr 40 "$@"
}

# tree: all files that are there, so that nothing can appear unseen
tree() { find . -mindepth 1 | LC_ALL=C sort; }

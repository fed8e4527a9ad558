# plot-trace.sh - the trace that cases of `plyecho plot` draw: a plate of 3 mm behind a delay line
plate_csv()
{
    "$plyecho" simulate --layer carbon:3 --delay-line pmma:10 --probe 5M:0.6 --snr 40 --seed 3 \
        --label 'part=tricycle 7 steerer' --label angle_deg=52.5 --to csv
}

# Make a folder `bin` with what the shell around the program needs, but no gnuplot.
bin_without_gnuplot()
{
    mkdir bin
    for tool in cat dirname ls sed uname; do ln -s "$(command -v $tool)" bin/$tool; done
}

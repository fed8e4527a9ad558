# echoes.sh - a trace with two echoes whose times, heights and band are known
# echoes_csv [HEIGHT [LIMIT]]: a CSV trace of 400 samples at 100 MHz from 2 us on, two echoes at 10 MHz
# with the heights HEIGHT (default 0.8) and half of it, cut at +-LIMIT, on a grid of 0.0005
echoes_csv()
{
    awk -v height="${1:-0.8}" -v limit="${2:-9}" '
    function echo(t, centre) { return exp(-88 * (t - centre) ^ 2) * cos(62.831853 * (t - centre)) }
    BEGIN {
        print "time_us,amplitude"
        for (i = 0; i < 400; i++) {
            t = 2 + i / 100
            x = height * (echo(t, 3) - 0.5 * echo(t, 4.5)) + 0.004 * sin(i * i)
            x = x > limit ? limit : x < -limit ? -limit : x
            printf "%.2f,%.4f\n", t, int(x * 2000 + 1000.5) / 2000 - 0.5
        }
    }'
}

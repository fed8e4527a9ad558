try()
{
    printf '%b' "$2" >"$1.csv"
    "$plyecho" convert -o out.csv "$1.csv"
    echo "$1: status $?"
}
head='time_us,a\n0.00,1\n0.01,2\n0.02,-1\n'
try empty ''
try only-header 'time_us,a\n'
try one-row 'time_us,a\n0,1\n'
try text-for-number "${head}0.03,oops\n0.04,1\n"
try not-a-number "${head}0.03,nan\n0.04,1\n"
try infinite "${head}0.03,-inf\n0.04,1\n"
try infinite-in-digits "${head}0.03,1e999\n0.04,1\n"
try jumps "${head}0.03,0\n0.04,0\n0.15,1\n0.16,1\n"
try backwards "${head}0.03,0\n0.02,0\n0.01,0\n0.00,1\n"
try back-and-forth 'time_us,a\n0,1\n0.01,2\n0,3\n0.01,4\n'
try too-many-cells "${head}0.03,1,7\n0.04,1\n"
try too-few-cells "${head}0.03\n0.04,1\n"
try lone-quote "${head}0.03,\"1\n0.04,1\n"
try no-rate 'a\n1\n2\n3\n'
try bad-rate-label '# sample_rate_hz: fast\ntime_us,a\n0,1\n0.01,2\n'
try zero-rate-label '# sample_rate_hz: 0\ntime_us,a\n0,1\n0.01,2\n'
try unknown-signal '# signal: sound\ntime_us,a\n0,1\n0.01,2\n'
ls -A | grep -v '\.csv$'
test ! -e out.csv

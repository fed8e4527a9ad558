# checks of the set-up: the last one before the readings and the first one after them
. "$cases/report.sh"
short
setup=$(sed -n 's/.*"setup_digest": "\(.*\)",/\1/p' tube/summary.json)
# log SETUP ROW...: of which set-up the checks are
log_of()
{
    of=$1
    shift
    echo date,trace,flagged,velocity_change_percent,beyond,setup_digest
    for row; do echo "$row,$of"; done
}
log() { log_of "$setup" "$@"; }
# said REPORT-ARGUMENT...: on the first screen, then among how it was done
said()
{
    "$plyecho" report --quiet "$@" >page.html
    sed -n 's/.*<h2 id="result">.*Result: \(.*\)<.h2>/\1/p; s/<dt>The set-up<.dt><dd>\(.*\)<.dd>/\1/p' page.html
    sed -n '/id="checks"/,/<\/section>/p' page.html | sed -n 's/<p>\(.*\)<\/p>/\1/p'
}
told() { said tube "$@"; }
told
log 2024-11-30T13:10,a.wav,no,0.1, 2024-11-30T16:40,b.wav,no,0.1, 2024-12-02,c.wav,yes,3,velocity >log.csv
echo '* between two'
told --checks log.csv --date 2024-11-30T14:00
echo '* after all of them'
told --checks log.csv --date 2024-12-03
echo '* before all of them'
told --checks log.csv --date 2024-11-29
echo '* of the same day, nobody knows which came first'
told --checks log.csv --date 2024-11-30
echo '* in another order in the log'
log 2024-12-02,c.wav,yes,3,velocity 2024-11-30T16:40,b.wav,no,0.1, 2024-11-30T13:10,a.wav,no,0.1, >back.csv
told --checks back.csv --date 2024-11-30T14:00
echo '* a failed one, and a good one that does not part it from readings of that day'
log 2024-11-30T08:00,a.wav,yes,3,velocity 2024-11-30T16:40,b.wav,no,0.1, >failed.csv
told --checks failed.csv --date 2024-11-30
echo '* the same, parted'
told --checks failed.csv --date 2024-11-30T17:00
echo '* of another set-up'
log_of 0123 2024-11-30T13:10,a.wav,no,0.1, 2024-11-30T16:40,b.wav,yes,0.1, >theirs.csv
told --checks theirs.csv --date 2024-11-30T14:00
echo '* not known when'
sed '/^date = 2024-11-30/d' "$fleet/tube.ini" | sed "s|\.\./reference|$traces/reference|" >undated.ini
"$plyecho" scan --quiet --pictures none --procedure undated.ini --out undated tube.csv >/dev/null
said undated --checks log.csv
echo '* by a table of another kind'
report tube -o new.html --checks tube.csv
report tube -o new.html --checks "$traces/reference.wav"
report tube -o new.html --checks missing.csv
log >none.csv
echo '* by a log without checks'
told --checks none.csv
log '<b>,a.wav,no,,' 30.11.2024,a.wav,no,, >odd.csv
told --checks odd.csv
log '2024-11-29,a.wav,"yes ",,"<i>zero</i>"' >odd.csv
told --checks odd.csv --date 2024-11-30
ls

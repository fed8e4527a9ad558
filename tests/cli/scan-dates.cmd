# The calibration's age counts to the day of the readings, where it is stated: the verdict is the same on every day.
# Else it counts to the day on which the scan began, which the summary keeps.
. "$cases/scan.sh"
rings 1 2 >tube.csv
cp "$traces/reference.wav" .
sed 's|\.\./reference|reference|; /^date/d' "$fleet/tube.ini" >bare.ini
procedure() { sed "s/^\[calibration\]/&\n$1/; s/^\[inspection\]/&\n$2/" bare.ini >"$3.ini"; }
procedure 'date = 2024-11-29\nvalid_days = 30' 'date = 2024-11-30' held
procedure 'date = 2024-11-29\nvalid_days = 30' 'date = 2025-01-30' expired
procedure 'date = 2024-11-29' 'date = 2024-11-28T14:00' before
procedure 'date = 2024-11-29' '' today
procedure '' 'date = 2024-11-30' none
day=$(date -u +%F)
for p in held expired before today none; do
    "$plyecho" scan --pictures none --procedure $p.ini --out $p tube.csv >$p.txt 2>$p.err
    echo "== $p"
    sed -n 's/^carbon.*mm: //p; /may be wrong by/p' $p.txt
    grep '^plyecho: .*date:' $p.err
    sed -n 's/^ *"judged_on": //p' $p/summary.json | sed "s/$day/the day of the scan/; s/$(date -u +%F)/the day of the scan/"
done

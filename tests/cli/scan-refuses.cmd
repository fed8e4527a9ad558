# What a scan does not begin with, each with its cure; nothing is written.
. "$cases/scan.sh"
rings 1 2 >tube.csv
try() { "$@"; echo "status $?"; }
try scan tube.csv
try scan --out new
try scan --out new missing.csv
try scan --out new tube.csv tube.csv
try scan --out . tube.csv
try scan --out tube.csv/new tube.csv
try scan --out tube.csv tube.csv
try scan --out new --jobs 0 tube.csv
try "$plyecho" scan --out new --pictures gif tube.csv
try "$plyecho" scan --out new --procedure missing.ini tube.csv
mkdir full
echo kept >full/notes
try scan --out full tube.csv
try scan --out missing/new tube.csv
mkdir other.partial
try scan --out other tube.csv
tree

# what goes on must be the same scan
killed tube.csv scan tube1-ring2.wav
sed 's/least_mm = 3.0/least_mm = 2.9/; s|\.\./reference|reference|' "$fleet/tube.ini" >other.ini
cp "$traces/reference.wav" .
try scan --out scan tube.csv
try "$plyecho" scan --pictures none --procedure other.ini --resume --out scan tube.csv
try scan --velocity 2900 --resume --out scan tube.csv
"$plyecho" convert --quiet reference.wav -o pulse.csv
try scan --pulse pulse.csv --resume --out scan tube.csv
head -n 25 tube.csv >shorter.csv
try scan --resume --out scan shorter.csv
scan --quiet --resume --out scan tube.csv | tail -n 1

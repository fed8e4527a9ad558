# Parts side by side: text, CSV, JSON; two of different names; two of one name by option.
. "$cases/compare.sh"
sed 's|\.\./reference|reference|' "$fleet/sleeve.ini" >sleeve.ini
made tube1 tube.ini "$fleet/tube1.csv"
made tube2 sleeve.ini "$fleet/tube2.csv"
made tube3 tube.ini "$fleet/tube3.csv"
try "$plyecho" compare tube1 tube2 tube3
try "$plyecho" compare tube1 tube2 tube3 --format csv
"$plyecho" compare tube1 tube3 --side-by-side --format json --no-header
try "$plyecho" compare tube1 tube2 --format csv --no-header

# What the readings could not have shown, since the procedure lacks it, stands on the first screen and below.
. "$cases/report.sh"
rings 1 8 >tube.csv
cp "$traces/reference.wav" .
sed '/^attenuation_db\|^nominal/d; s|\.\./reference|reference|' "$fleet/tube.ini" >bare.ini
"$plyecho" scan --quiet --pictures none --procedure bare.ini --out bare tube.csv >/dev/null
"$plyecho" report --quiet bare >page.html
sed -n 's/<dt>What was not looked for<.dt><dd>\(.*\)<.dd>/\1/p' page.html
sed -n '/id="untested"/,/<\/ul>/p' page.html | head -n 4
"$plyecho" scan --quiet --pictures none --procedure "$fleet/tube.ini" --out whole tube.csv >/dev/null
"$plyecho" report --quiet whole | grep -c 'not looked for'
true

# No part is accepted where nobody asked the necessary, or where its walls may be wrong: what is missing is said.
. "$cases/scan.sh"
rings 1 8 >tube.csv
cp "$traces/reference.wav" .
# what the fleet's file says of its calibration gives way to what is said here
sed 's|\.\./reference|reference|; /^\[calibration\]/,/^\[/{ /^date\|^temperature\|^anvil\|^steps/d }; /^temperature_c/d' \
    "$fleet/tube.ini" >whole.ini
procedure() { sed "$1" whole.ini >"$2.ini"; }
procedure '/^least_coverage\|^most_unseen/d' no-coverage
procedure '/^least_coverage\|^most_unseen\|^beam/d' no-beam
procedure '/^nominal/d' no-nominal
procedure '/^attenuation/d' no-attenuation
procedure 's/^\[calibration\]/&\ndate = 2020-01-01\nvalid_days = 30/' expired
procedure 's/^\[calibration\]/&\nvalid_days = 30/' no-date
procedure 's/^\[calibration\]/&\ntemperature_c = 20/; s/^\[material\]/&\ntemperature_c = 31/' warm
procedure 's/^\[calibration\]/&\nanvil = flat/' anvil
procedure 's/^\[calibration\]/&\nsteps = 2/' few-steps
for p in whole no-coverage no-beam no-nominal no-attenuation expired no-date warm anvil few-steps; do
    "$plyecho" scan --quiet --pictures none --procedure $p.ini --out $p tube.csv >$p.txt
    echo "== $p: status $?"
    sed -n 's/^carbon.*mm: //p; /^  open/p' $p.txt
done
echo '== one ring'
rings 1 1 >ring.csv
"$plyecho" scan --quiet --pictures none --procedure whole.ini --out ring ring.csv | sed -n 's/^carbon.*mm: //p; /^  open/p'
echo '== nothing read'
for k in 1 2 3 4; do shot --uncoupled --layer carbon:3.2 --seed $k -o dry$k.wav; done
printf '%s\n' file,angle_deg,axial_mm dry1.wav,0,0 dry2.wav,180,0 dry3.wav,0,20 dry4.wav,180,20 >dry.csv
"$plyecho" scan --quiet --pictures none --procedure whole.ini --out dry dry.csv | sed -n 's/^carbon.*mm: //p; /^  [a-z]/p'

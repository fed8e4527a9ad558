# What a limit speaks of it decides, and nothing beside it: no wall behind a delamination that is allowed, no flaw where
# the beam was not.
. "$cases/scan.sh"
cp "$traces/reference.wav" .
rings 1 2 >mixed.csv # in the porous rings' place
rings 3 8 | sed '1,49d' >>mixed.csv
limits() { sed "s|\.\./reference|reference|; $1" "$fleet/tube.ini" >"$2.ini"; }
limits '/^\[acceptance\]/,/^\[/{ s/^least_mm.*/least_mm = 2.5\nmost_delamination_mm = 30/ }' tolerant
limits '/^\[acceptance\]/,/^\[/{ s/^least_mm.*/most_delamination_mm = 30\nmost_spread_mm = 2/ }' no-wall
limits '/^\[acceptance\]/,/^\[/{ s/^least_cov.*/least_coverage_percent = 90/; s/^most_uns.*/most_unseen_mm = 3/ }' close
for p in tolerant no-wall; do
    echo "== $p"
    "$plyecho" scan --quiet --pictures none --procedure $p.ini --out $p mixed.csv | sed -n 's/^carbon.*mm: //p; /^  [a-z]/p'
done
echo '== close'
rings 1 8 >sound.csv
"$plyecho" scan --quiet --pictures none --procedure close.ini --out close sound.csv | sed -n 's/^carbon.*mm: //p; /^  [a-z]/p'

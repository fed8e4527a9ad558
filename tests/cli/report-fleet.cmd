# the page of the fleet's rejected tube: what its first screen says, and that it is the same on every run
. "$cases/report.sh"
scan --quiet --out tube3 "$fleet/tube3.csv" >/dev/null
"$plyecho" report tube3 -o tube3.html --part 'Tricycle 13, steerer tube' --operator 'A. Reader' --date 2024-11-30
report tube3/ >twice.html --part 'Tricycle 13, steerer tube' --operator 'A. Reader' --date 2024-11-30
tail -n 1 twice.html
sed '$d' twice.html | cmp - tube3.html
[ "$(wc -c <tube3.html)" -gt 10000 ] && [ "$(wc -c <tube3.html)" -lt 60000 ] && echo size sane
phrases tube3.html 'Result: rejected' 'This part does not pass' '<h1>Tricycle 13, steerer tube</h1>' \
    'at 180 deg, 32 mm: 17.7 mm round, 14.0 mm along' '2 limits broken, 2 open' \
    'saw cut at the crown end, opposite the brake hole' 'read by A. Reader' ', 2024-11-30' \
    '19 of its 20 places say so by their own trace' 'k = 2' 'Cracks through the thickness' 'conforms to none of them' 'velocity_m_s = 2942' \
    "$("$plyecho" --version | head -n 1)"
# the digests by which it can be done again are those of the files
for file in tube3/readings.csv tube3/indications.csv "$fleet/tube3.csv" "$fleet/tube.ini"; do
    phrases tube3.html "$(sha256sum <"$file" | cut -c 1-64)"
done
# each limit and each indication of the tables is on the page
grep -c 'class="state"' tube3.html
grep -c '<h3 id="indication-' tube3.html
grep -c 'http:\|https:\|<script\|<link\|url(' tube3.html
tree

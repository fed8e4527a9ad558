# hostile text in everything that people and files name: it is shown, never acted on
. "$cases/report.sh"
mark='</title></pre><script>alert(1)</script>"'"'"' onerror=x &amp; ../../etc'
quoted=$(printf %s "$mark" | tr '"' "'") # as a procedure file can have it
rings 1 1 >plain.csv
cp tube1-ring1.wav '<img src=x onerror=alert(2)>.wav'
sed 's/tube1-ring1.wav/<img src=x onerror=alert(2)>.wav/' plain.csv >'<b>tube.csv'
sed "s|\.\./reference|$traces/reference|; s|^name = .*|name = \"$(echo "$quoted" | sed "s/&/\\\\&/")\"|; s|^zero_mark = .*|zero_mark = \"$(echo "$quoted" | sed "s/&/\\\\&/")\"|" \
    "$fleet/tube.ini" | sed 's/least_mm = 3.0/least_mm = 3.19/' >'<i>.ini'
"$plyecho" scan --quiet --pictures none --procedure '<i>.ini' --out '<u>tube' '<b>tube.csv' >/dev/null
echo "scan: status $?"
printf 'Dents <b>here</b> \033[31mred\033[0m \007 \302\233K \342\200\256desrever\n\n</p><script>alert(3)</script>\n' >'notes<s>.txt'
png >'"><script>alert(4)<'
report '<u>tube' -o page.html --part "$mark" --operator "$mark" --place "$mark" --reason "$mark" --surface "$mark" \
    --operator-level "$mark" --operator-certificate "$mark" --notes 'notes<s>.txt' --photo './"><script>alert(4)<'
# no tag that is not ours, no attribute that acts, no control, no turning of the writing
tr -d '\n' <page.html | grep -oE '<[a-zA-Z/!][^ >]*' | LC_ALL=C sort -u | tr '\n' ' '
echo
grep -cE '<script|<img src=x|<b>|<i>|<u>|<s>' page.html
tr -d '\n' <page.html | grep -oE '<[^>]* on[a-z]+=' | head -n 3
LC_ALL=C tr -d '\n\t\040-\176\200-\377' <page.html | wc -c
LC_ALL=C grep -cE "$(printf '\302[\200-\237]|\342\200\256')" page.html
phrases page.html '&#60;script&#62;alert(1)&#60;/script&#62;' '&#60;script&#62;alert(3)' \
    'alt="Photograph 1: &#34;&#62;&#60;script&#62;alert(4)&#60;"' '&#60;img src=x onerror=alert(2)&#62;.wav' \
    '?[31mred?[0m ? ?K ?desrever' '&#60;b&#62;tube.csv' '&#38;amp;'
# messages keep to one line without controls, whatever the names are
report "$(printf 'a\033[2Jb\nc')"
report '<u>tube' -o new.html --photo "$(printf '\033]0;x\007\nplyecho: fine')"

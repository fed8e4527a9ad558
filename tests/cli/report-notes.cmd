# notes: plain text in UTF-8 and not more than anyone reads
. "$cases/report.sh"
short
printf 'Two dents at 90\302\260.\n\nPaint left on;\nnot sanded.\n' >good.txt
report tube -o page.html --notes good.txt
phrases page.html '<p class="notes">Two dents at 90°.</p>' 'Paint left on;'
grep -c 'class="notes"' page.html
sed 's/$/\r/' good.txt >crlf.txt
report tube --notes crlf.txt | grep -c 'class="notes"'
{ printf '\357\273\277'; cat good.txt; } >marked.txt
report tube --notes marked.txt | grep '>Two dents'
printf 'one\ntwo\ncaf\351\n' >latin1.txt
printf 'T\0w\0o\0' >utf16.txt
head -c 10000000 /dev/zero | tr '\0' 'x' >large.txt
: >empty.txt
for notes in latin1.txt utf16.txt large.txt missing.txt tube; do report tube -o new.html --notes $notes; done
# nothing in it is as good as none: room to write by hand
report tube --notes empty.txt | grep -c 'class="room"'
report tube <good.txt --notes - | grep -c '^status\|>Two dents'
head -c 262144 large.txt >most.txt
report tube -o most.html --notes most.txt
ls *.html

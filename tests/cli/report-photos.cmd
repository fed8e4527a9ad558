# photographs: taken as they are, refused with the cure where they are none; a page is written whole or not at all
. "$cases/report.sh"
short
mkdir shots
png >shots/one.png
jpeg >shots/two.jpg
report tube -o page.html --photo shots/one.png --photo shots/two.jpg
phrases page.html "data:image/png;base64,$(base64 -w 0 shots/one.png)" \
    "data:image/jpeg;base64,$(base64 -w 0 shots/two.jpg)" 'Photograph 1: one.png' 'Photograph 2: two.jpg'
# the kind is told by the bytes, not by the name
cp shots/two.jpg named.png
report tube -o - --photo named.png | grep -c 'data:image/jpeg.*named.png'
head -c 40 shots/one.png >cut.png
head -c 20 shots/two.jpg >cut.jpg
printf 'GIF89a' >moving.gif
: >empty.jpg
for photo in cut.png cut.jpg moving.gif empty.jpg missing.jpg shots tube.csv "$traces/reference.wav"; do
    report tube -o new.html --photo shots/one.png --photo "$photo"
done
# all that is wrong is said at once
report tube -o new.html --photo cut.png --photo missing.jpg --notes missing.txt --checks cut.jpg
{ cat shots/one.png; head -c 20000000 /dev/zero; } >large.png
report tube -o new.html --photo large.png
set --
for n in $(seq 41); do set -- "$@" --photo shots/one.png; done
report tube -o new.html "$@"
ls

# Each answer by a log that is made for it.
. "$cases/readings.sh"
log '' >even.csv
answer even.csv
log 'if (r > 2 && r < 6 && a > 180 && a < 240) mm = 1 + n % 7 * 0.2' >patch.csv
answer patch.csv
log 'if (n == 77) mm = 1.1; if (n == 130) mm = 6.4' >spots.csv
answer spots.csv
log 'd = (a - 180) / 15; e = r - 4; mm -= 0.6 * exp(-(d * d + e * e) / 8)' >filed.csv
answer filed.csv | grep -v '^ '
grep '^It means' summary | cut -c 1-90
log 'if (r < 4) mm += 1.1' >sleeve.csv
answer sleeve.csv
answer sleeve.csv --nominal 3.2
log 'if (r > 5) mm -= 1.8' >parted.csv
answer parted.csv
answer parted.csv --nominal 3.2
log 'if (r > 5) mm -= 0.7' >loose.csv
answer loose.csv
answer loose.csv --nominal 3.2
log 'if (n == 77) mm = 6.4' >high.csv
answer high.csv
log 'mm = 1.6 + (step % 97 + int(step / 7) % 89 + int(step / 3) % 83 - 133) / 120' >scattered.csv
answer scattered.csv
answer even.csv --nominal 4.3
answer even.csv --nominal 3.2 --tolerance 0.05
log 'if (n == 77 || n == 130) mm = 0' >unread.csv
answer unread.csv
log 'd = (a - 180) / 15; e = r - 4; mm -= 0.6 * exp(-(d * d + e * e) / 8); if (r == 4 && a > 200 && a < 250) mm = 0' >lost.csv
answer lost.csv | grep -v '^ '
grep '^It means\|^Next' summary | fold -s -w 110
head -n 8 even.csv >few.csv
answer few.csv
head -n 2 even.csv >one.csv
answer one.csv

echo '# a plate, semicolons, decimal commas, columns that nobody asked for'
awk 'BEGIN { print "remark;x_mm;y_mm;thickness_mm"
    for (i = 0; i < 60; i++) { s = sprintf("%.2f", 2 + i % 7 / 100); sub(/\./, ",", s)
        print "\"=cmd|\033[31m ../../x\";" i % 10 * 5 ";" int(i / 10) * 5 ";" s } }' >plate.csv
answer plate.csv
readings plate.csv --format csv | sed -n '1,2p'

echo '# a place read again: averaged, or the least where they disagree'
{ cat even.csv; echo 375,20,3.30; } >again.csv
answer again.csv
readings again.csv | grep 'more than once'
readings again.csv --format csv | grep '^15,20,'
{ cat even.csv; echo 15,20,1.4; } >disagree.csv
answer disagree.csv
readings disagree.csv --format csv | grep '^15,20,'

echo '# tenths; a limit of acceptance; declared layers; a nominal that does not reach all along'
log 'mm = int(mm * 10 + 0.5) / 10' >tenths.csv
answer tenths.csv
printf '[part]\nname = tube <b>\nnominal_mm = 3.2\n[acceptance]\nleast_mm = 3.15\n' >limit.ini
answer even.csv --procedure limit.ini
head -n 1 summary
grep ^tolerance summary
printf '[part]\nnominal_mm = 3.1 at 20, 3.2 at 40\n[layers]\ncarbon = 3.2 mm\n' >short.ini
answer even.csv --procedure short.ini

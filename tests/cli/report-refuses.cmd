# what there is no page of, each with its cure; nothing is written
. "$cases/report.sh"
short
report
report tube tube
report missing
report tube.csv
report tube --date 30.11.2024
report tube --date 2024-11-31
report tube --date ''
report tube --photo
report tube --colour red
# no scan, and one that is not finished
mkdir none begun.partial
report none
report begun
report begun.partial
killed tube.csv whole tube1-ring1.wav
report whole
# by another version, changed since, with a file missing
copy() { rm -rf other; cp -R tube other; }
copy; sed -i 's/"results_format": 1/"results_format": 2/; s/plyecho [0-9.]*"/plyecho 9.9"/' other/summary.json
report other
copy; sed -i 's/"results_format": 1,//' other/summary.json
report other
# what contradicts itself: a verdict that its limits do not give, a count that the tables do not have
copy; sed -i 's/"part_verdict": "[a-z ]*"/"part_verdict": "accepted"/; s/"state": "open"/"state": "broken"/' other/summary.json
report other
copy; sed -i 's/"flagged": [0-9]*/"flagged": 7/' other/summary.json
report other
copy; echo 'x' >other/summary.json
report other
copy; sed -i 's/3\.1/3.3/' other/readings.csv
report other
copy; echo >>other/indications.csv
report other
copy; rm other/readings.csv
report other
# pictures that lead elsewhere, are missing, are none, or are not those that the scan drew
listed() # PICTURE: the summary names it, with the digest that it has now
{
    sed -i "s|\"pictures\": \[\]|\"pictures\": [{\"name\": \"$1\", \"digest\": \"$(cat "other/$1" 2>/dev/null | sha256sum | cut -d ' ' -f 1)\"}]|" other/summary.json
}
echo secret >secret.svg
png >one.png
for picture in ../secret.svg /etc/passwd other/../../secret.svg missing.svg readings.csv empty.svg cut.svg cut.png; do
    copy
    : >other/empty.svg
    echo '<svg><g></g>' >other/cut.svg
    head -c 40 one.png >other/cut.png
    listed $picture
    report other -o new.html
done
copy; cp one.png other/one.png; listed one.png; echo >>other/one.png
report other -o new.html
copy; cp one.png other/one.png; listed one.png; mv other/one.png real.png; ln -s ../real.png other/one.png
report other -o new.html
rm other/one.png; mkfifo other/one.png
report other -o new.html
rm real.png
# where it cannot go
report tube -o tube
report tube -o missing/page.html
report tube -o tube.csv/page.html
report tube -o /dev/full
# what it is made from is never replaced, whatever its name
copy
echo '<svg></svg>' >other/map.svg
listed map.svg
echo dents >seen.txt
printf 'date,flagged,setup_digest\n' >log.csv
ln -s one.png link
cp -R other kept
for file in one.png link seen.txt log.csv other/summary.json other/readings.csv other/indications.csv other/map.svg; do
    report other -o $file --photo one.png --notes seen.txt --checks log.csv
done
diff -r other kept && png | cmp - one.png
# another file in the folder is a page like any
report other -o other/page.html
ls

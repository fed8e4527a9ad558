# the procedure on the page is a procedure file: taken from it, it says what held, hostile texts and layers included
. "$cases/report.sh"
rings 1 1 >tube.csv
sed "s|\.\./reference|$traces/reference|; s|^name = .*|name = \"x ; y # z = [part]\"|; s|^zero_mark = .*|zero_mark = \"  <b>\&amp; dot  \"|" \
    "$fleet/tube.ini" >hostile.ini
printf "\n[layers]\ncarbon = 3.2 mm, u 0.05 mm\n" >>hostile.ini
taken() # PROCEDURE: as the page of a scan by it has it
{
    rm -rf tube
    "$plyecho" scan --quiet --pictures none --procedure "$1" --out tube tube.csv >/dev/null
    "$plyecho" report --quiet tube -o page.html
    sed -n '/id="procedure"/,$p' page.html | sed -n '/<pre>/,/<\/pre>/p' |
        sed 's/.*<pre>//; s/<\/pre>.*//; s/&#60;/</g; s/&#62;/>/g; s/&#34;/"/g; s/&#39;/'"'"'/g; s/&#38;/\&/g' >taken.ini
}
shown() { "$plyecho" procedure show --format csv "$1" | cut -d , -f 1-3; }
for procedure in hostile.ini "$fleet/tube.ini" "$fleet/sleeve.ini"; do
    taken "$procedure"
    shown "$procedure" >before.csv
    shown taken.ini >after.csv
    diff before.csv after.csv && grep -c , after.csv
done
taken hostile.ini
grep -e '^name' -e '^zero_mark' -e '^carbon' taken.ini

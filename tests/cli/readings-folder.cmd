# A folder of results: whole or not at all, and nothing is replaced.
. "$cases/readings.sh"
log 'if (n == 77) mm = 1.1' >log.csv
readings log.csv --pictures none --out done/ --nominal 3.2 | tail -n 1
ls -a done
readings log.csv --format csv --nominal 3.2 | cmp - done/readings.csv
grep -v '"program"\|_digest\|"meaning"\|"evidence"\|"next"\|"cannot_tell"\|"cautions"' done/summary.json |
    sed -E '/"groups"/,/"chance_of_one"/d; s/([0-9]\.[0-9]{4})[0-9]+/\1/'
echo '# there already; something unfinished beside it; a folder that cannot be made'
exec 2>&1
readings log.csv --pictures none --out done; echo "status $?"
mkdir begun.partial
readings log.csv --pictures none --out begun; echo "status $?"
readings log.csv --pictures none --out no/where; echo "status $?"
readings log.csv --out -; echo "status $?"
ls -d begun*

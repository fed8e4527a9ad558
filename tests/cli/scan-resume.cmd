# A scan that was killed goes on, and its results are those of one that was not.
. "$cases/scan.sh"
rings 3 4 >tube.csv
scan --out whole tube.csv >/dev/null
meanwhile() { scan --resume --out "$1" tube.csv; echo "the second at once: status $?"; }
killed tube.csv scan tube3-ring3.wav
meanwhile() { :; }
tree
scan --out scan tube.csv
echo "without --resume: status $?"
journal=$(wc -c <scan.partial/journal)
# the record that was being written when it ended
head -c 1000 /dev/zero | tr '\0' x >>scan.partial/journal
mkdir scan.partial/results
echo half >scan.partial/results/old.csv
scan --resume --out scan tube.csv >resumed.txt
echo "--resume: status $?"
diff -q -r whole scan && echo 'the same bytes'
[ -e scan.partial ] || echo 'nothing is left of the unfinished one'

# killed again, and a trace taken anew before it goes on: that is judged again
killed tube.csv again tube3-ring4.wav
cp "$fleet/tube1-ring2.wav" tube3-ring2.wav
head -c $((journal - 100)) again.partial/journal >cut
cp cut again.partial/journal
scan --quiet --resume --out again tube.csv >/dev/null
scan --quiet --out new tube.csv >/dev/null
diff -q -r new again && ! diff -q -r whole again >/dev/null && echo 'the same bytes as a new scan'

#!/bin/sh
# The demonstration traces are what traces/make.sh makes today: labels equal, samples within 1e-5
# of full scale (another machine's mathematics library may differ in the last bit), and the
# tables the same. Nothing in traces/ is left over from an earlier script.
set -eu
LC_ALL=C
export LC_ALL
committed=${srcdir:-.}/traces
plyecho=$PWD/plyecho
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
mkdir "$work/made"
"$committed/make.sh" "$plyecho" "$work/made"

fail=0
for path in "$committed"/*.wav "$committed"/*.csv "$committed"/fleet/*.wav "$committed"/fleet/*.csv; do
    file=${path#"$committed"/}
    if [ ! -f "$work/made/$file" ]; then
        echo "FAIL $file: traces/make.sh does not make it"
        fail=1
    fi
done
for path in "$work"/made/*.* "$work"/made/fleet/*.*; do
    file=${path#"$work"/made/}
    if [ ! -f "$committed/$file" ]; then
        echo "FAIL $file: made, but not committed"
        fail=1
        continue
    fi
    case $file in
    truth.csv | fleet/*.csv) # tables, not traces
        cmp "$committed/$file" "$path" || fail=1
        continue
        ;;
    esac
    "$plyecho" convert --to csv -o - "$committed/$file" >"$work/old.csv"
    "$plyecho" convert --to csv -o - "$path" >"$work/new.csv"
    awk -F, -v file="$file" -v other="$work/new.csv" '
        {
            if ((getline line < other) <= 0)
                line = ""
            if ($0 ~ /^#/ || !data) {
                if ($0 ~ /^# full_scale: /)
                    scale = substr($0, 15) + 0
                if ($0 !~ /^#/)
                    data = 1
                if ($0 != line) {
                    print "FAIL " file ": \"" $0 "\" is now \"" line "\""
                    exit failed = 1
                }
                next
            }
            if (split(line, now, ",") != NF) {
                print "FAIL " file ": line " NR " has other columns"
                exit failed = 1
            }
            for (i = 1; i <= NF; i++) {
                off = $i - now[i]
                if (off > 1e-5 * scale || off < -1e-5 * scale) {
                    print "FAIL " file ": line " NR ": " $i " is now " now[i]
                    exit failed = 1
                }
            }
            rows++
        }
        END {
            if (failed)
                exit 1
            if (rows < 2 || !(scale > 0) || (getline line < other) > 0) {
                print "FAIL " file ": " rows " rows, full scale " scale
                exit 1
            }
            print "ok   " file ": " rows " rows of " NF - 1 " channels"
        }' "$work/old.csv" || fail=1
done
exit $fail

#!/bin/sh
# assess judges every demonstration trace as traces/truth.csv says: the verdict, the wall within
# 25 um, the depth of a gap within 30 um, and no wall where a gap takes the whole beam. Of the whole tubes, an
# edge of a delamination may be anything, and a thin wall below 0.9 of the nominal undecided: one
# trace cannot tell.
set -eu
LC_ALL=C
export LC_ALL
traces=${srcdir:-.}/traces
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT

judge()
{
    procedure=$1
    shift
    status=0
    ./plyecho assess --procedure "$traces/$procedure" --format csv --no-header "$@" \
        >>"$work/verdicts.csv" || status=$?
    [ "$status" = 1 ] || {
        echo "FAIL assess ended with status $status; some of these places are to be flagged"
        exit 1
    }
}

judge tricycle.ini "$traces"/tricycle[134]-*
judge sleeve.ini "$traces"/tricycle2-*
judge fleet/tube.ini "$traces"/fleet/tube[13]-*.wav
judge fleet/sleeve.ini "$traces"/fleet/tube2-*.wav

awk -F, '
    function off(a, b) { return a > b ? a - b : b - a }
    function fault(text) { print "FAIL " place ": " text; failed = 1 }
    FILENAME ~ /truth/ {
        truth[$1 "," $2] = $3; wall[$1 "," $2] = $7; depth[$1 "," $2] = $8; cover[$1 "," $2] = $9
        next
    }
    {
        sub(/.*\//, "", $1)
        place = $1 "," $2
        seen++
        if (!(place in truth) || truth[place] == "")
            fault("no truth")
        else if ($3 != truth[place] && truth[place] != "edge" &&
                 !(truth[place] == "thin" && wall[place] < 0.9 * 3.2 && $3 == "undecided"))
            fault($3 ", but it is " truth[place])
        else if (($3 == "unreadable" || $3 == "undecided" || cover[place] == 1) != ($5 == "") &&
                 !(cover[place] > 0.9 && cover[place] < 1)) # hardly any wall is left to see
            fault("thickness \"" $5 "\"")
        else if ($5 != "" && $3 != "attenuated" && off($5, wall[place]) > 0.025)
            fault($5 " mm, but it is " wall[place])
        else if ($3 == "delamination" && off($8, depth[place]) > 0.03)
            fault("a gap at " $8 " mm, but it is at " depth[place])
    }
    END {
        if (seen < 635)
            fault("only " seen " verdicts")
        print seen " verdicts"
        exit failed
    }' "$traces/truth.csv" "$traces/fleet/truth.csv" "$work/verdicts.csv"

# The fleet of the demonstration: what is printed, what is written, and whether it is the truth.
. "$cases/scan.sh"
for tube in 1 2 3; do
    procedure=tube
    [ $tube = 2 ] && procedure=sleeve
    "$plyecho" scan "$fleet/tube$tube.csv" --procedure "$fleet/$procedure.ini" --pictures none --out tube$tube
    echo "status $?"
done
tree
# a row a place, in the manifest's order, with the shot that counts
for tube in 1 2 3; do
    awk -F, 'NR > 1 { print $3 "," $4 "," $1 "," $2 }' tube$tube/readings.csv >rows
    tail -n +2 "$fleet/tube$tube.csv" | diff - rows
    echo "tube $tube: $(wc -l <rows) places"
done
# raw and second verdict against the truth; at an edge either is right
cat tube?/readings.csv | awk -F, -v truth="$fleet/truth.csv" '
    BEGIN { while ((getline <truth) > 0) { split($0, t, ","); is[t[1] "," t[2]] = t[3] } }
    $1 == "angle_deg" { for (i = 1; i <= NF; i++) if ($i == "second_verdict") second = i; next }
    { true = is[$3 "," $4]; places++; edge += true == "edge"; raw += $5 == true; good += $second == true }
    true != "edge" && $second != true { print $3 "," $4 ": " true " taken for " $second }
    END { print places " places, " edge " at an edge; right: " raw " raw, " good " with the neighbours" }'

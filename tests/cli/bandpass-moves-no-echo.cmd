# Both echoes stay where they are, and what lies outside the band goes.
. "$cases/echoes.sh"
{ echo "# part: tricycle 7 steerer"; echoes_csv; } |
    awk -F, '/^[0-9]/ { $2 += 0.3 + 0.05 * sin(188.5 * $1) } { print }' OFS=, |
    "$plyecho" bandpass --band 2M:18M >a.csv || exit
grep '^#' a.csv | sort
awk -F, '/^[0-9]/ { if ($2 > most) { most = $2; at = $1 } if ($2 < least) { least = $2; low = $1 }
    if ($1 > 5.3) rest = $2 > rest ? $2 : rest }
    END { printf "%.3f at %.2f, %.2f at %.2f, rest below 0.01: %d\n",
          most, at, least, low, rest < 0.01 }' a.csv

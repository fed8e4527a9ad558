# The pipeline keeps every label, and an envelope is what it says.
. "$cases/echoes.sh"
{ printf '# part: tricycle 7 steerer\n# remark: third ring\n# full_scale: 1\n'; echoes_csv; } |
    "$plyecho" bandpass --band 2M:18M | "$plyecho" envelope >a.csv || exit
grep '^#' a.csv | sort
awk -F, '/^[0-9]/ { if ($2 < 0) print "negative"; if ($2 > most) { most = $2; at = $1 } }
    END { printf "%.2f at %.2f\n", most, at }' a.csv

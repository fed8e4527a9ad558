# readings.sh - logs of plain readings, made by a formula of angle and ring

fleet=$traces/fleet
readings() { "$plyecho" readings "$@"; }

# log FORMULA: an eccentric wall of 3.2 mm at 24 angles on 8 rings; FORMULA is awk, may change mm, and knows a (degrees), z (mm),
# r (ring from 1) and n (place from 0)
log()
{
    awk 'BEGIN {
        print "angle_deg,axial_mm,thickness_mm"
        for (r = 1; r <= 8; r++)
            for (k = 0; k < 24; k++) {
                a = 15 * k
                z = 16 + 4 * r
                n = 24 * (r - 1) + k
                step = (step * 137 + 71) % 1021
                mm = 3.2 + 0.06 * cos(a * 3.14159265 / 180) + (step % 5 + int(step / 7) % 5 - 4) / 200
                '"$1"'
                print a "," z "," (mm > 0 ? sprintf("%.2f", mm) : "")
            }
    }'
}

# answer NAME [OPTION...]: the first lines of the summary, and the status
answer()
{
    "$plyecho" readings "$@" >summary
    status=$?
    sed -n '/^[a-z -]*$/p; /^ *[0-9]*  \(low\|high\)/p; /^no reading/p' summary
    echo "status $status"
}

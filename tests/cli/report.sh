# report.sh - scans to report, and photographs

. "$cases/scan.sh"

# report ARGUMENT...: its status, too
report() { "$plyecho" report --quiet "$@"; echo "status $?"; }

# phrases FILE PHRASE...: each must be in the page, as it stands
phrases()
{
    page=$1
    shift
    for phrase; do grep -qF -e "$phrase" "$page" || echo "$page lacks: $phrase"; done
}

# short: a short scan with nothing to tell but its places
short()
{
    rings 1 1 >tube.csv
    scan --quiet --out tube tube.csv >/dev/null
}

# png, jpeg: as much of a photograph as is looked at
png()
{
    printf '\211PNG\r\n\032\n'
    printf '\0\0\0\015IHDR\0\0\0\001\0\0\0\001\010\0\0\0\0\072\176\233\125'
    printf '\0\0\0\012IDAT\170\234\143\150\0\0\0\202\0\201\167\315\162\266'
    printf '\0\0\0\0IEND\256\102\140\202'
}
jpeg() { printf '\377\330\377\300\0\013\010\0\001\0\001\001\001\021\0\377\332\0\010\001\001\0\0\077\0\123\377\331'; }

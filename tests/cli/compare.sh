# compare.sh - scans of the fleet's tubes to compare, without pictures

fleet=$traces/fleet
# the procedures, with the reference pulse beside them
sed 's|\.\./reference|reference|' "$fleet/tube.ini" >tube.ini
sed 's/2024-11-30T14:30/2025-06-07T10:00/' tube.ini >later.ini
cp "$traces/reference.wav" .
try() { "$@"; echo "status $?"; }

# made DIR PROCEDURE MANIFEST [OPTION...]: a scan, in silence
made()
{
    dir=$1
    procedure=$2
    shift 2
    "$plyecho" scan --quiet --pictures none --out "$dir" --procedure "$procedure" "$@" >/dev/null
    [ $? -le 1 ] || echo "no scan $dir"
}

# moved MANIFEST AWK: the manifest with columns 3 and 4 changed, its files named from here
moved()
{
    awk -F, -v OFS=, -v at="$fleet" "NR > 1 { \$1 = at \"/\" \$1; $2 } { print }" "$fleet/$1"
}

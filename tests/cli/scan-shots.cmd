# Several shots of a place: the best coupled one counts, their spread is uncertainty.
. "$cases/scan.sh"
for k in 1 2 3; do shot --layer carbon:3.2$k --seed $k -o wet$k.wav; done
shot --uncoupled --layer carbon:3.2 --seed 4 -o dry.wav
shot --layer carbon:3.2 --gap-depth 1.2 --seed 5 -o gap.wav
shot --layer carbon:3.2 --gap-depth 1.2 --seed 8 -o here.wav
shot --layer carbon:3.2 --seed 9 -o nothere.wav
shot --layer carbon:3.2 --seed 6 -o one.wav
cat >places.csv <<'END'
file,angle_deg,axial_mm
wet1.wav,0,20
dry.wav,0,20
one.wav,15,20
wet2.wav,0,20
missing.wav,15,20
wet3.wav,360,20
gap.wav,30,20
here.wav,45,20
nothere.wav,45,20
END
columns()
{
    awk -F, -v names="$1" '
        NR == 1 { for (i = 1; i <= NF; i++) at[$i] = i; count = split(names, name, ",") }
        { for (i = 1; i <= count; i++) printf "%s%s", $at[name[i]], i < count ? "," : "\n" }' "$2"
}
scan --out scan places.csv >/dev/null
echo "status $?"
columns angle_deg,axial_mm,trace,verdict,flagged,thickness_mm,thickness_u_mm,reason,shots,shots_spread_mm scan/readings.csv

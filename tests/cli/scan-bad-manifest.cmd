# Manifests that are wrong, and hostile: named, survived; nothing appears outside DIR.
. "$cases/scan.sh"
rings 1 1 >tube.csv
mkdir inside
tree >before
try() { echo "== $1"; cat >"$1.csv"; scan --out "inside/$1" "$1.csv" >/dev/null; echo "status $?"; rm "$1.csv"; }
heading=file,channel,angle_deg,axial_mm
try empty </dev/null
echo $heading | try heading
printf '%s\n' $heading tube1-ring1.wav,1,375,20 | try beyond
printf '%s\n' $heading tube1-ring1.wav,1,-15,20 tube1-ring1.wav,2,190,20 | try mixed
printf '%s\n' $heading tube1-ring1.wav,1,0,20 tube1-ring1.wav,1,15,20 | try twice
printf '%s\n' $heading tube1-ring1.wav,1,0,20 tube1-ring1.wav,25,15,20 missing.wav,1,30,20 inside,1,45,20 | try missing
printf '%s\n' $heading tube1-ring1.wav,1,-15,20 tube1-ring1.wav,2,0,20 | try negative
printf '%s\n' $heading '"tube1
ring1.wav",1,0,20' | try newline
head -c 3000 /dev/urandom | try noise 2>&1 | sed 's/: line .*/: .../'

# names are text, whatever they say
printf '%s\n' 'file,channel,angle_deg,axial_mm,note' \
    'tube1-ring1.wav,1,0,20,' \
    '../../../../etc/passwd,1,15,20,' \
    '"<script>alert(1)</script>,&.wav",1,30,20,' \
    "$(printf '\033[2J\033]0;gone\007.wav,1,45,20,')" \
    "=cmd|' /C calc'!A0.wav,1,60,20," \
    '$(touch gone);`touch gone`.wav,1,75,20,' \
    "$(printf 'a\\b\377\302.wav,1,90,20,')" | try hostile
cut -d, -f3 inside/hostile/readings.csv
cat inside/hostile/*.csv inside/hostile/*.json | grep -a -c "$(printf '[\033\007\377]')"
tree | diff before - | sort

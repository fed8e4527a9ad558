# Text of others neither steers a terminal nor a spreadsheet.
. "$cases/compare.sh"
escape=$(printf '\033[31m')
head -n 97 "$fleet/tube1.csv" | sed "s|^tube|$fleet/tube|" >tube1.csv
made "a${escape}b" tube.ini tube1.csv
made '=b' tube.ini tube1.csv
# a summary that someone wrote by hand
for folder in "a${escape}b" =b; do
    sed -i 's/"part": "[^"]*"/"part": "=cmd<b>\\u001b[31m\\n"/; s/"saw cut[^"]*"/"<script>\\u001b[31m mark"/' \
        "$folder/summary.json"
done
try "$plyecho" compare "a${escape}b" ./=b
try "$plyecho" compare --side-by-side "a${escape}b" =b --format csv
printf 'angle_deg,axial_mm,thickness_mm\n0,20,%s3.2\n' "$escape" >"t$escape.csv"
try "$plyecho" compare --truth "t$escape.csv" ./=b
printf 'angle_deg,axial_mm,thickness_mm\n0,20,3.2\n' >"t$escape.csv"
try "$plyecho" compare --truth "t$escape.csv" ./=b
sed -i 's/<script>/<other>/' =b/summary.json
try "$plyecho" compare "a${escape}b" ./=b
try "$plyecho" compare "$escape" ./=b

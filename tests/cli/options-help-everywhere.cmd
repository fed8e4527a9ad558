# each verb's help names the verb, its options, an example; nothing is read
"$plyecho" --help | sed -n 's/^  \([a-z][a-z]*\)  .*/\1/p' >verbs
test -s verbs || echo 'no verbs found'
while read -r verb; do
    "$plyecho" "$verb" --help missing-file >help || echo "$verb: status $?"
    for wanted in "^Usage: plyecho $verb" '^Options:' '-h, --help' '-q, --quiet' '^Example:'; do
        grep -q -e "$wanted" help || echo "$verb: help lacks $wanted"
    done
    awk -v verb="$verb" 'length > 80 && !example { print verb ": long line: " $0 }
        /^Example:/ { example = 1 }' help
done <verbs

#!/bin/sh
# make-man.sh PROGRAM HEAD - the man page: HEAD with each verb's --help in the place of @VERBS@
set -eu
program=$1
head=$2

# --help is laid out for a terminal already: keep its lines, only hide what roff would act on.
as_it_stands()
{
    printf '.nf\n'
    sed -e 's/\\/\\e/g' -e 's/-/\\-/g' -e "s/^[.']/\\\\\&&/"
    printf '.fi\n'
}

verbs=$("$program" --help | sed -n 's/^  \([a-z][a-z]*\) .*/\1/p')
test -n "$verbs" || { echo "make-man.sh: $program --help names no verb" >&2; exit 1; }
version=$("$program" --version | sed -n '1s/^plyecho //p')
test -n "$version" || { echo "make-man.sh: $program --version says nothing" >&2; exit 1; }

sed -e "s/@VERSION@/$version/" -e '/^@VERBS@$/,$d' "$head"
for verb in $verbs; do
    printf '.SS %s\n' "$verb"
    "$program" "$verb" --help | as_it_stands
done
sed -e '1,/^@VERBS@$/d' "$head"

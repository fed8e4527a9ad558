#!/bin/sh
# run-cases.sh - run the program's command-line cases; see README.md beside it
#
# Usage: run-cases.sh [CASE...]       (default: all NAME.cmd beside this script)
# Environment: plyecho (the program, default ./plyecho), srcdir (top of the source, default: two
# folders up), TMPDIR. Exit status: 0 all passed, 1 some failed, 99 the harness itself is broken.
set -u

here=$(cd "$(dirname "$0")" && pwd) || exit 99
srcdir=${srcdir:-$here/../..}
srcdir=$(cd "$srcdir" && pwd) || exit 99
plyecho=${plyecho:-./plyecho}
case $plyecho in
/*) ;;
*) plyecho=$PWD/$plyecho ;;
esac
[ -x "$plyecho" ] || { echo "run-cases.sh: $plyecho: no such program; build it first" >&2; exit 99; }
traces=$srcdir/traces
cases=$here
export plyecho srcdir traces cases

top=$(mktemp -d "${TMPDIR:-/tmp}/plyecho-cases.XXXXXX") || exit 99
trap 'chmod -R u+rwx "$top"; rm -rf "$top"' EXIT
trap 'exit 99' HUP INT TERM

# Sanitizers write to files of their own, so that a case which throws stderr away fails too.
export ASAN_OPTIONS="log_path=$top/sanitizer:detect_leaks=1:${ASAN_OPTIONS:-}"
export UBSAN_OPTIONS="log_path=$top/sanitizer:print_stacktrace=1:${UBSAN_OPTIONS:-}"
unset POSIXLY_CORRECT LANGUAGE LC_NUMERIC LC_MESSAGES LANG

# Files come and go by this: where an expectation is missing it is empty (status: 0).
expected()
{
    if [ -f "$1" ]; then cat "$1"; elif [ "${1##*.}" = status ]; then echo 0; fi
}

# compare WHAT EXPECTED-FILE ACTUAL-FILE
compare()
{
    expected "$2" >"$top/expected"
    cmp -s "$top/expected" "$3" && return 0
    echo "--- $1: expected (-) and actual (+)"
    diff -a -u "$top/expected" "$3" | tail -n +3
    return 1
}

# Paths differ from machine to machine: the source's shows as $srcdir, the program's as $plyecho.
neutral_paths()
{
    sed -e "s|$plyecho|\$plyecho|g" -e "s|$srcdir|\$srcdir|g" "$1" >"$1.neutral"
}

run_case()
{
    name=$1
    work=$top/work
    mkdir "$work" "$top/result" || exit 99
    (
        cd "$work" || exit 99
        umask 022
        . "$here/helpers.sh"
        . "$here/$name.cmd"
    ) >"$top/result/out" 2>"$top/result/err" </dev/null
    status=$?
    if [ $status -eq 77 ]; then
        skipped=$((skipped + 1))
        echo "SKIP: $name: $(head -n 1 "$top/result/out")"
    else
        echo $status >"$top/result/status"
        neutral_paths "$top/result/out"
        neutral_paths "$top/result/err"
        if ! {
            ok=0
            compare 'exit status' "$here/$name.status" "$top/result/status" || ok=1
            compare 'standard output' "$here/$name.out" "$top/result/out.neutral" || ok=1
            compare 'standard error' "$here/$name.err" "$top/result/err.neutral" || ok=1
            for report in "$top"/sanitizer*; do
                [ -f "$report" ] && { echo '--- sanitizer:'; cat "$report"; ok=1; }
            done
            [ $ok -eq 0 ]
        } >"$top/report" 2>&1; then
            failed=$((failed + 1))
            echo "FAIL: $name (LC_ALL=$LC_ALL)"
            cat "$top/report"
        else
            passed=$((passed + 1))
        fi
    fi
    chmod -R u+rwx "$work"
    rm -rf "$work" "$top/result" "$top"/sanitizer*
}

# A locale with a decimal comma: one that is installed, or one made for the occasion.
find_comma_locale()
{
    for candidate in $(locale -a 2>/dev/null); do
        if [ "$(LC_ALL=$candidate locale decimal_point 2>/dev/null)" = , ]; then
            comma=$candidate
            return
        fi
    done
    if localedef -i de_DE -f UTF-8 "$top/de_DE.UTF-8" >/dev/null 2>&1; then
        export LOCPATH=$top
        comma=de_DE.UTF-8
    fi
}

passed=0 failed=0 skipped=0 ran=0
comma=
LC_ALL=C
export LC_ALL
[ $# -gt 0 ] || set -- "$here"/*.cmd
for file; do
    base=${file##*/}
    run_case "${base%.cmd}"
    ran=$((ran + 1))
done

find_comma_locale
if [ -n "$comma" ]; then
    LC_ALL=$comma
    for file; do
        base=${file##*/}
        case $base in number-*) run_case "${base%.cmd}" ;; esac
    done
else
    echo 'SKIP: cases number-* in a decimal-comma locale: none installed, none could be made'
fi

echo "run-cases.sh: $passed passed, $failed failed, $skipped skipped"
[ $ran -gt 0 ] && [ $failed -eq 0 ]

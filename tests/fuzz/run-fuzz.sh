#!/bin/sh
# run-fuzz.sh - each fuzzing target with the files of its corpus, whole and damaged
#
# FUZZ_ROUNDS damaged versions of each file (default 500); .ci/run takes more under sanitizers.
set -u
status=0
for program in tests/fuzz/fuzz_*; do
    case $program in
    *.*) continue ;;
    esac
    corpus=${srcdir:-.}/tests/fuzz/corpus/${program##*/fuzz_}
    echo "$program"
    "$program" --rounds "${FUZZ_ROUNDS:-500}" "$corpus"/* || status=1
done
exit $status

#!/bin/sh
# Run a test in Python with SciPy; skip it, and say so, where there is none.
#   run-python.sh SCRIPT [ARGUMENT...]
# The interpreter is in SCIPY_PYTHON, found by configure.
if [ -z "$SCIPY_PYTHON" ]; then
    echo "SKIPPED: no Python with SciPy, so nothing was checked against it." >&2
    echo "Install python3-scipy and run configure again." >&2
    exit 77
fi
PYTHONDONTWRITEBYTECODE=1 exec "$SCIPY_PYTHON" "$@"

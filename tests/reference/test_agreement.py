"""Bland-Altman agreement and shares of hits against SciPy, live.

The interval of the bias: scipy.stats.t; of a limit of agreement: scipy.stats.nct, and by trial, since what is
claimed of it is that it holds the true limit in 95 of 100 samples; of a share: scipy.stats.binomtest, exact.
"""

import subprocess

import numpy as np
from scipy import stats

PROBE = "tests/reference/compare_probe"
failures = 0


def check(what, error, most):
    """Say how far we are from the reference; a NaN fails too."""
    global failures
    good = error <= most
    failures += not good
    print(f"{'ok  ' if good else 'FAIL'} {what}: {error:.3g} (at most {most:g})")


def probe(kind, text):
    run = subprocess.run([PROBE, kind], input=text, text=True, capture_output=True, check=True)
    return np.array([[float(x) for x in line.split()] for line in run.stdout.splitlines()])


def agreement(d):
    return probe("agreement", "\n".join(f"{x:.17g}" for x in d))[0]


random = np.random.default_rng(6)
for n in (2, 3, 4, 7, 15, 40, 300):
    d = random.normal(0.01, 0.03, n)
    b, s, nct = d.mean(), d.std(ddof=1), stats.nct(n - 1, 1.96 * np.sqrt(n))
    near, far = nct.ppf(0.025) * s / np.sqrt(n), nct.ppf(0.975) * s / np.sqrt(n)
    want = [n, b, *stats.t.interval(0.95, n - 1, b, s / np.sqrt(n)), s, b - 1.96 * s, b - far, b - near,
            b + 1.96 * s, b + near, b + far]
    check(f"agreement of {n}", np.max(np.abs(agreement(d) - want)), 1e-6 * far)

held = 0
TRIALS = 400
for _ in range(TRIALS):
    a = agreement(random.normal(0.0, 1.0, 5))
    held += a[9] <= 1.96 <= a[10]
# four standard deviations of a share of 0.95 in 400
check("an upper limit's interval holds it in 95 of 100 samples of 5", abs(held / TRIALS - 0.95), 0.044)

pairs = [(h, n) for n in (1, 2, 5, 12, 59, 400) for h in sorted({0, 1, n // 2, n - 1, n})]
got = probe("share", "\n".join(f"{h} {n}" for h, n in pairs))
want = []
for h, n in pairs:
    interval = stats.binomtest(h, n).proportion_ci(method="exact")
    want.append((h / n, interval.low, interval.high))
check("shares", np.max(np.abs(got - want)), 1e-9)

raise SystemExit(failures > 0)

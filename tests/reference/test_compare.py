"""plyecho compare against NumPy and SciPy, live, on scans of the fleet.

Walls: the factor of the limit by scipy.stats.norm (Bonferroni over the places), the scatter by
scipy.stats.median_abs_deviation, differences and their uncertainty by JCGM 100, 5.1.2 from the two readings.csv.
The zero mark: correlations by numpy.corrcoef of the walls, turned by numpy.roll. A truth: bias by scipy.stats.t,
limits by scipy.stats.nct, shares by scipy.stats.binomtest.
"""

import csv
import json
import os
import subprocess
import tempfile

import numpy as np
from scipy import stats

FLEET = os.path.abspath(os.path.join(os.environ.get("srcdir", "."), "traces", "fleet"))
PLYECHO = os.path.abspath("plyecho")
failures = 0


def check(what, error, most):
    """Say how far we are from the reference; a NaN fails too."""
    global failures
    good = error <= most
    failures += not good
    print(f"{'ok  ' if good else 'FAIL'} {what}: {error:.3g} (at most {most:g})")


def scan(manifest, out):
    run = subprocess.run([PLYECHO, "scan", "--quiet", "--pictures", "none", "--procedure", f"{FLEET}/tube.ini",
                          "--out", out, manifest], capture_output=True, text=True)
    assert run.returncode <= 1, run.stderr
    with open(f"{out}/readings.csv", newline="") as file:
        return {(float(r["angle_deg"]), float(r["axial_mm"])): r for r in csv.DictReader(file)}


def compare(*arguments):
    run = subprocess.run([PLYECHO, "compare", "--format", "json", *arguments], capture_output=True, text=True)
    assert run.returncode <= 1, run.stderr
    return [json.loads(line) for line in run.stdout.splitlines()]


def wall(row):
    """The wall where it counts, else NaN."""
    counts = row["second_verdict"] not in ("delamination", "undecided", "unreadable")
    return float(row["second_thickness_mm"] or "nan") if counts else np.nan


def check_walls(before, after, rows):
    walls = [r for r in rows if r["subject"] == "wall"]
    both = [k for k in before if k in after and np.isfinite(wall(before[k])) and np.isfinite(wall(after[k]))]
    check("places compared", abs(len(walls) - len(both)), 0)
    factor = stats.norm.isf(0.025 / len(both))
    errors = []
    for r in walls:
        k = (r["angle_deg"], r["axial_mm"])
        u = np.hypot(*(float(x[k]["second_thickness_u_mm"]) for x in (before, after)))
        errors.append((r["difference"] - wall(after[k]) + wall(before[k]), r["difference_u"] - u,
                       r["limit"] - factor * u))
    errors = np.abs(errors).max(axis=0)
    for name, error in zip(("differences", "their uncertainty", "their limit"), errors):
        check(name, error, 1e-9)
    d = np.array([r["difference"] for r in walls])
    together = next(r for r in rows if r["subject"] == "walls-together")
    check("shift of all", abs(together["difference"] - np.median(d)), 1e-9)
    # the scatter at what it may be at most: its efficiency against a standard deviation's is 0.37
    scatter = stats.median_abs_deviation(d, scale="normal") * (1 + 2 * 1.16 / np.sqrt(len(d)))
    own = np.array([all(x[r["angle_deg"], r["axial_mm"]]["thickness_mm"] for x in (before, after)) for r in walls])
    off = own & (np.abs(d - np.median(d)) > factor * scatter)
    beyond = np.array([abs(r["difference"]) > r["limit"] for r in walls])
    flagged = np.array([r["flagged"] for r in walls])
    check("places that changed or stand out", np.sum(flagged != (off | beyond)), 0)


def relief(readings, shape=(8, 24)):
    """Walls about their rows' medians, drawn in to three deviations, then about their rows' means."""
    keys = sorted(readings, key=lambda k: (k[1], k[0]))
    w = np.array([wall(readings[k]) for k in keys]).reshape(shape)
    w -= np.nanmedian(w, axis=1, keepdims=True)
    most = 3 * 1.4826 * np.nanmedian(np.abs(w))
    w = np.clip(w, -most, most)
    return w - np.nanmean(w, axis=1, keepdims=True)


def correlation(a, b):
    good = np.isfinite(a) & np.isfinite(b)
    return np.corrcoef(a[good], b[good])[0, 1]


def check_zero_mark(before, after, rows, name):
    """The best of all turns, both ways, as far as rows are not pushed."""
    a, b = relief(before), relief(after)
    told = next(r for r in rows if r["subject"] == "zero-mark")
    check(f"{name}: correlation as they lie", abs(told["before"] - correlation(a, b)), 1e-6)
    if told["axial_mm"] == 0:
        mirrored = np.roll(a[:, ::-1], 1, axis=1)
        best = max(correlation(np.roll(x, n, axis=1), b) for x in (a, mirrored) for n in range(24))
        check(f"{name}: correlation at the best position", abs(told["after"] - best), 1e-6)
    return told


def turned(manifest, degrees, sign, out):
    with open(f"{FLEET}/{manifest}", newline="") as file, open(out, "w") as to:
        print("file,channel,angle_deg,axial_mm", file=to)
        for r in csv.DictReader(file):
            angle = (sign * float(r["angle_deg"]) + degrees) % 360
            print(f"{FLEET}/{r['file']},{r['channel']},{angle:g},{r['axial_mm']}", file=to)
    return out


def check_truth(folder, readings):
    random = np.random.default_rng(66)
    sound = [k for k in readings if np.isfinite(wall(readings[k]))][::9]
    gaps = [k for k in readings if readings[k]["second_verdict"] == "delamination"][::3]
    truth = {k: round(wall(readings[k]) + random.normal(0.003, 0.008), 4) for k in sound}
    with open("truth.csv", "w") as file:
        print("angle_deg,axial_mm,thickness_mm,thickness_u_mm,indication_depth_mm", file=file)
        for k in sound:
            print(f"{k[0]:g},{k[1]:g},{truth[k]:.4f},0.004,none", file=file)
        for k in gaps:
            print(f"{k[0]:g},{k[1]:g},,,1.4", file=file)
        print(f"{sound[0][0]:g},{sound[0][1]:g},,,1.4", file=file)  # missed
    rows = compare("--truth", "truth.csv", folder)
    d = np.array([wall(readings[k]) - truth[k] for k in sound])
    u = np.array([np.hypot(float(readings[k]["second_thickness_u_mm"]), 0.004) for k in sound])
    n, b, s = len(d), d.mean(), d.std(ddof=1)
    by = {(r["subject"], r["quantity"]): r for r in rows}
    nct = stats.nct(n - 1, 1.96 * np.sqrt(n))
    near, far = nct.ppf(0.025) * s / np.sqrt(n), nct.ppf(0.975) * s / np.sqrt(n)
    for subject, value, least, most in (("bias", b, *stats.t.interval(0.95, n - 1, b, s / np.sqrt(n))),
                                        ("lower-limit", b - 1.96 * s, b - far, b - near),
                                        ("upper-limit", b + 1.96 * s, b + near, b + far)):
        r = by[subject, "thickness_mm"]
        check(f"truth: {subject}", np.max(np.abs([r["difference"] - value, r["least"] - least, r["most"] - most])),
              1e-7)
    for key, hits, count in ((("within", "thickness_mm"), int(np.sum(np.abs(d) <= 2 * u)), n),
                             (("found", "delamination"), len(gaps), len(gaps) + 1),
                             (("false-calls", "delamination"), 0, n)):
        interval = stats.binomtest(hits, count).proportion_ci(method="exact")
        r = by[key]
        check(f"truth: {key[0]}", np.max(np.abs([r["hits"] - hits, r["count"] - count, r["least"] - interval.low,
                                                 r["most"] - interval.high])), 1e-8)


with tempfile.TemporaryDirectory() as work:
    os.chdir(work)
    one, three = scan(f"{FLEET}/tube1.csv", "one"), scan(f"{FLEET}/tube3.csv", "three")
    later = scan(f"{FLEET}/tube3-later.csv", "later")
    check_walls(three, later, compare("three", "later"))
    rows = compare("one", "three")
    check_walls(one, three, rows)
    check_zero_mark(one, three, rows, "another tube")
    for degrees, sign in ((60, 1), (285, 1), (0, -1), (105, -1)):
        wrong = scan(turned("tube3.csv", degrees, sign, "wrong.csv"), f"wrong{degrees}{sign}")
        told = check_zero_mark(three, wrong, compare("three", f"wrong{degrees}{sign}"), f"{sign} x angle + {degrees}")
        # `before` lies at across + shift, counted the other way at shift - across
        want = -degrees if sign > 0 else degrees
        check("by how much", abs((told["angle_deg"] - want + 180) % 360 - 180), 1e-6)
        check("does not fit", told["state"] != "does not fit", 0)
    check_truth("three", three)

raise SystemExit(failures > 0)

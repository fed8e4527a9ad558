"""Statistics of a log of plain readings against NumPy and SciPy, live.

Outliers: Rosner's test written anew with numpy and scipy.stats.t. Two groups: the same likelihood maximised by
scipy.optimize instead of by expectation-maximisation; where there is one group, how often two are told. The smooth wall: numpy.linalg.lstsq through the readings that are of it.
"""

import subprocess
import sys

import numpy as np
from scipy import optimize, stats

PROBE = "tests/reference/log_probe"
failures = 0


def check(what, error, most):
    """Say how far we are from the reference; a NaN fails too."""
    global failures
    good = error <= most
    failures += not good
    print(f"{'ok  ' if good else 'FAIL'} {what}: {error:.3g} (at most {most:g})")


def probe(kind, values, *args):
    return probe_text(kind, "".join(f"{v:.17g}\n" for v in values), *args)


def probe_text(kind, text, *args):
    run = subprocess.run([PROBE, kind, *map(repr, args)], text=True, capture_output=True, input=text)
    if run.returncode != 0:
        sys.exit(run.stderr)
    return [[float(x) for x in line.split()] for line in run.stdout.splitlines()]


# ---- outliers ----

def rosner(values, most, chance):
    left = np.array(values)
    index = np.arange(len(left))
    steps, found = [], 0
    for i in range(1, most + 1):
        off = np.abs(left - left.mean())
        k = int(np.argmax(off))
        distance = off[k] / left.std(ddof=1)
        n = len(values)
        t = stats.t.ppf(1 - chance / (2 * (n - i + 1)), n - i - 1)
        critical = (n - i) * t / np.sqrt((n - i - 1 + t * t) * (n - i + 1))
        found = i if distance > critical else found
        steps.append((index[k], distance, critical))
        left, index = np.delete(left, k), np.delete(index, k)
    return found, steps


def check_outliers():
    rng = np.random.default_rng(1)
    wrong, worst = 0, 0.0
    for trial in range(60):
        n = int(rng.integers(5, 300))
        values = 3.2 + 0.03 * rng.standard_normal(n)
        bad = rng.random(n) < rng.choice([0, 0.03, 0.1])
        values[bad] += rng.choice([-1.5, 0.3, 3.2], bad.sum())
        most, chance = max(1, min(n - 3, n // 4)), float(rng.choice([0.01, 0.05, 0.2]))
        found, steps = rosner(values, most, chance)
        ours = probe("outliers", values, most, chance)
        wrong += int(ours[0][0]) != found
        wrong += [int(s[0]) for s in ours[1:]] != [s[0] for s in steps]
        worst = max(worst, np.abs(np.array(ours[1:])[:, 1:] - np.array(steps)[:, 1:]).max())
    check("60 sets: outliers, or the order in which values go, that are others", wrong, 0)
    check("distances and their limits (GSL's t quantile has 9 digits)", worst, 1e-7)


def check_false_outliers():
    """Of one normal group at 5 %: how often any is told, within 4 standard deviations of a binomial."""
    rng = np.random.default_rng(2)
    for n in (15, 25, 100):
        rounds = 400
        called = sum(probe("outliers", rng.standard_normal(n), max(1, n // 10), 0.05)[0][0] > 0
                     for _ in range(rounds))
        check(f"{n} values of one normal group, any outlier told, share less 0.05", called / rounds - 0.05,
              4 * np.sqrt(0.05 * 0.95 / rounds) + (0.01 if n < 25 else 0))


# ---- two groups ----

def minus_log_likelihood(p, values, floor):
    share = 1 / (1 + np.exp(-p[4]))
    spread = floor + np.exp(p[1]), floor + np.exp(p[3])
    low = np.log(share) + stats.norm.logpdf(values, p[0], spread[0])
    high = np.log1p(-share) + stats.norm.logpdf(values, p[2], spread[1])
    return -np.logaddexp(low, high).sum()


def best_mixture(values, floor, low, high, share):
    start = [low[0], np.log(max(low[1] - floor, 1e-4)), high[0], np.log(max(high[1] - floor, 1e-4)),
             np.log(share / (1 - share))]
    for _ in range(4):
        got = optimize.minimize(minus_log_likelihood, start, (values, floor), method="Nelder-Mead",
                                options={"maxiter": 20000, "maxfev": 20000, "xatol": 1e-10, "fatol": 1e-11,
                                         "adaptive": True})
        start = got.x
    return got


def check_clusters():
    rng = np.random.default_rng(3)
    worst_likelihood = worst_number = worst_share = worst_one = 0.0
    for share, low, spread in ((0.15, 1.6, 0.3), (0.4, 1.6, 0.35), (0.3, 2.9, 0.06), (0.5, 2.1, 0.02),
                               (0.05, 1.4, 0.2), (0.8, 1.9, 0.4)):
        for n in (30, 200):
            is_low = np.arange(n) < max(2, round(share * n))
            values = np.where(is_low, rng.normal(low, spread, n), rng.normal(3.2, 0.03, n))
            floor = 0.005
            lines = probe("clusters", values, floor, 0)
            (m0, s0, w0, m1, s1, w1), (one, two, gain, chance) = lines[:2]
            got = best_mixture(values, floor, (values[is_low].mean(), values[is_low].std()),
                               (values[~is_low].mean(), values[~is_low].std()), is_low.mean())
            p = got.x
            theirs = [p[0], floor + np.exp(p[1]), p[2], floor + np.exp(p[3]), 1 / (1 + np.exp(-p[4]))]
            worst_likelihood = max(worst_likelihood, abs(two + got.fun))
            worst_number = max(worst_number, np.abs(np.array(theirs) - [m0, s0, m1, s1, w0]).max())
            by_hand = stats.norm.logpdf(values, values.mean(), values.std()).sum()
            worst_one = max(worst_one, abs(one - by_hand), abs(gain - 2 * (two - one) + 3 * np.log(n)),
                            abs(w0 + w1 - 1))
            a = np.log(w0) + stats.norm.logpdf(values, m0, s0)
            b = np.log(w1) + stats.norm.logpdf(values, m1, s1)
            ours = np.array(lines[2:])[:, 0]
            worst_share = max(worst_share, np.abs(ours - np.exp(a - np.logaddexp(a, b))).max())
    check("likelihood of two groups against scipy.optimize", worst_likelihood, 1e-4)
    check("their means, spreads and share", worst_number, 1e-3)
    check("how likely a value is of the low group", worst_share, 1e-9)
    check("likelihood of one group, and the criterion", worst_one, 1e-6)


def check_false_clusters():
    """Of one normal group: how often two are told, by the criterion alone and with the counted chance."""
    rng = np.random.default_rng(4)
    for n in (24, 96):
        rounds, criterion, counted = 300, 0, 0
        for _ in range(rounds):
            _, (_, _, gain, chance) = probe("clusters", rng.standard_normal(n), 0.5, 99)[:2]
            criterion += gain > 0
            counted += 0 <= chance <= 0.01
        print(f"     {n} values of one normal group: two by the criterion alone {criterion / rounds:.3f}")
        check("    and a chance of at most 0.01, share less 0.01", counted / rounds - 0.01,
              4 * np.sqrt(0.01 * 0.99 / rounds))


# ---- the smooth wall ----

def terms(across, along, tube):
    """The terms of smooth_wall.h, in any scale: the wall through them is the same."""
    one = np.ones(len(across))
    if not tube:
        return np.stack([one, across, along, across ** 2, across * along, along ** 2], 1)
    a = np.radians(across)
    return np.stack([one, np.cos(a), np.sin(a), along, np.cos(2 * a), np.sin(2 * a)], 1)


def places(tube):
    if tube:
        across, along = np.meshgrid(np.arange(24) * 15.0, 0.02 + 0.004 * np.arange(8))
    else:
        across, along = np.meshgrid(0.005 * np.arange(16), 0.005 * np.arange(12))
    return across.ravel(), along.ravel()


def check_smooth_wall():
    """Against numpy.linalg.lstsq through the readings that are of the wall, which only the test knows."""
    rng = np.random.default_rng(6)
    for tube in (True, False):
        across, along = places(tube)
        design = terms(across, along, tube)
        for share, together in ((0.0, False), (0.2, False), (0.2, True), (0.42, False), (0.42, True)):
            apart, spreads, lost = [], [], 0
            for _ in range(20):
                noise = 0.02e-3
                truth = 3.2e-3 + design[:, 1:] @ (rng.normal(0, 0.05e-3, 5) / np.ptp(design[:, 1:], axis=0))
                value = truth + noise * rng.standard_normal(len(truth))
                far = (np.hypot(np.cos(np.radians(across)) - 1, np.sin(np.radians(across))) if tube
                       else np.hypot(across, along))
                bad = np.argsort(far if together else rng.random(len(far)))[:round(share * len(far))]
                value[bad] = truth[bad] * rng.uniform(0.3, 0.7, len(bad))
                good = np.setdiff1d(np.arange(len(far)), bad)
                theirs = design @ np.linalg.lstsq(design[good], value[good], rcond=None)[0]
                lines = probe_text("wall", "".join(f"{a:.17g} {b:.17g} {v:.17g}\n" for a, b, v in
                                                   zip(across, along, value)), 1e-6, int(tube))
                ours = np.array(lines[1:])[:, 0]
                apart.append(np.abs(ours - theirs)[good].max())
                spreads.append(lines[0][1])
                lost += lines[0][0] > len(good)
            name = f"{'tube' if tube else 'plate'}, {share:.0%} of readings {'together' if together else 'anywhere'} bad"
            check(f"{name}: wall against numpy's through the others, mm", 1e3 * max(apart), 0.02)
            check("    its spread's mean over the noise, less 1", abs(np.mean(spreads) / noise - 1), 0.05)
            check("    walls through a bad reading", lost, 0)


# ---- whole logs, simulated ----

def ring_places(round_tube, rings):
    angle, axial = np.meshgrid(360 / round_tube * np.arange(round_tube), 20 + 4.0 * np.arange(rings))
    return angle.ravel(), axial.ravel()


def oval_wall(rng, angle, axial, noise, taper=0.0):
    p, q = rng.uniform(0, 2 * np.pi, 2)
    a = np.radians(angle)
    along = (axial - axial.mean()) / np.ptp(axial)
    return (3.2 + 0.06 * np.cos(a - p) + 0.04 * np.cos(2 * a - q) + taper * along
            + noise * rng.standard_normal(len(a)))


def around(rng, angle, axial):
    """Distance in mm over a tube of 28.6 mm from a place anywhere."""
    off = (angle - rng.uniform(0, 360) + 180) % 360 - 180
    return np.hypot(np.radians(off) * 14.3, axial - rng.uniform(axial.min(), axial.max()))


def over_delamination(rng, wall, bad, one_depth):
    depth = rng.uniform(0.3, 0.7, 1 if one_depth else bad.sum())
    wall[bad] = 3.2 * depth + (0.02 * rng.standard_normal(bad.sum()) if one_depth else 0)
    return wall


def simulated(rng, kind, angle, axial):
    wall = oval_wall(rng, angle, axial, 0.05 if kind == "rough" else 0.02, 0.35 if kind == "tapered" else 0)
    far = around(rng, angle, axial)
    share = rng.uniform(0.15, 0.4)
    nearest = np.argsort(np.argsort(far)) < share * len(far)
    if kind == "anywhere":
        wall = over_delamination(rng, wall, rng.permutation(nearest), False)
    elif kind in ("patch", "flat patch"):
        wall = over_delamination(rng, wall, nearest, kind == "flat patch")
    elif kind == "filed":
        wall -= rng.uniform(0.3, 0.8) * np.exp(-0.5 * (far / rng.uniform(5, 8)) ** 2)
    elif kind == "sleeve":
        rings = np.unique(axial)
        wall += 1.1 * (axial < rings[rng.integers(1, len(rings))])
    elif kind == "delaminated end":
        rings = np.unique(axial)
        wall = over_delamination(rng, wall, axial < rings[rng.integers(1, len(rings))], True)
    return np.round(wall, 2)


def check_logs():
    """A log as a gauge that shows 0.01 mm reads it, with a truth: how often which answer comes."""
    rng = np.random.default_rng(8)
    cases = (("even", "one-wall", 0.01, 0), ("rough", "one-wall", 0.06, 0), ("tapered", "one-wall", 0.02, 0),
             ("anywhere", "mixed", 0.01, 0), ("patch", "mixed", 0.01, 0), ("flat patch", "mixed", 0.01, 0),
             ("filed", "low-spots", 0.03, 0), ("sleeve", "two-walls", 0.02, 0), ("sleeve", "two-walls", 0.02, 3.2),
             ("delaminated end", "mixed", 0.03, 0), ("delaminated end", "mixed", 0.01, 3.2))
    rounds = 40
    for round_tube, rings in ((24, 8), (12, 5)):
        for kind, wanted, most, nominal in cases:
            angle, axial = ring_places(round_tube, rings)
            answers = []
            for _ in range(rounds):
                wall = simulated(rng, kind, angle, axial)
                text = "".join(f"{a} {z} {t}\n" for a, z, t in zip(angle, axial, wall))
                run = subprocess.run([PROBE, "log", str(nominal), "1"], input=text, text=True, capture_output=True)
                answers.append(run.stdout.split()[0] if run.returncode == 0 else run.stderr)
            other = sum(a != wanted for a in answers)
            stated = f", {nominal} mm stated" if nominal else ""
            check(f"{round_tube} x {rings}, {kind}{stated}: answers other than {wanted}", other / rounds,
                  most + 4 * np.sqrt(most * (1 - most) / rounds))
            if wanted == "mixed":
                check("    one wall of them", answers.count("one-wall"), 0)
            else:
                # of 400 filed ones on 12 x 5 one was: the rings are 30 degrees apart, so a flank can fall at once
                check("    mixed of them", answers.count("mixed"), kind == "filed")


if __name__ == "__main__":
    check_outliers()
    check_false_outliers()
    check_clusters()
    check_false_clusters()
    check_smooth_wall()
    check_logs()
    sys.exit(failures > 0)

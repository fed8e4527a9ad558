"""plyecho thickness --budget against SciPy's t distribution and a Monte Carlo of the same inputs.

The rows of a budget are combined anew here (JCGM 100:2008, 5.1.2, 5.2.2 and G.4.1), Student's
factor comes from scipy.stats.t, and the expanded uncertainty from 10^6 draws of the inputs through
the whole formula, as JCGM 101:2008 propagates distributions (clauses from memory).
"""

import json
import math
import os
import subprocess
import sys
import tempfile

import numpy as np
from scipy import stats

PROGRAM = "./plyecho"
DRAWS = 1_000_000
PROBABILITY = 0.954499736103642
failures = 0

PROCEDURE = """[part]
nominal_mm = 3.2
curvature_u_mm = 0.004
[equipment]
couplant_limit_us = 0.004
clock_limit_ppm = 900
[material]
velocity_m_s = 2942
velocity_u_m_s = 7
attenuation_db_mm_mhz = 0.1
velocity_per_c_m_s = -1.5
velocity_per_c_u_m_s = 0.4
temperature_c = 27
temperature_limit_c = 4
[calibration]
zero_us = 0.01
zero_u_us = 0.004
velocity_zero_correlation = 0.7
temperature_c = 20
steps = 6
freedom = 4
"""


def check(what, good):
    """Say what holds and what does not."""
    global failures
    failures += not good
    print(f"{'ok  ' if good else 'FAIL'} {what}")


def run(*arguments):
    """The rows that the program prints as JSON."""
    out = subprocess.run([PROGRAM, *arguments], capture_output=True, check=True, text=True).stdout
    return [json.loads(line) for line in out.splitlines()]


def by_hand(rows):
    """Combined uncertainty and effective degrees of freedom of a budget's rows."""
    counted = {r["contribution"]: r for r in rows if r["u"] is not None}
    total = counted.pop("combined")
    r = {row["contribution"]: row for row in rows}.get("velocity with zero")
    signed = {k: row["sensitivity_mm"] * row["u"] for k, row in counted.items()}
    both = 2 * r["value"] * signed["velocity"] * signed["zero"] if r else 0.0
    variance = sum(s ** 2 for s in signed.values()) + both
    weight = 0.0
    if r:           # velocity and zero are one input with the freedom of their line
        weight = ((signed["velocity"] ** 2 + signed["zero"] ** 2 + both) ** 2
                  / counted["velocity"]["freedom"])
    for k, row in counted.items():
        if row["freedom"] is not None and not (r and k in ("velocity", "zero")):
            weight += signed[k] ** 4 / row["freedom"]
    return math.sqrt(variance), variance ** 2 / weight, total


def draw(rng, row):
    """Values of one input as its distribution has them."""
    if row["distribution"] == "rectangular":
        half = math.sqrt(3) * row["u"]
        return row["value"] + rng.uniform(-half, half, DRAWS)
    return row["value"] + row["u"] * rng.standard_normal(DRAWS)


def monte_carlo(rows, first):
    """Thickness in mm through the formula, all inputs drawn from their distributions."""
    rng = np.random.default_rng(101)
    x = {r["contribution"]: draw(rng, r) for r in rows
         if r["u"] is not None and r["contribution"] != "combined"}
    velocity = next(r for r in rows if r["contribution"] == "velocity")
    zero_off = np.zeros(DRAWS)
    if first:
        zero = next(r for r in rows if r["contribution"] == "zero")
        r = next(r for r in rows if r["contribution"] == "velocity with zero")["value"]
        a, b = rng.multivariate_normal([0, 0], [[1, r], [r, 1]], DRAWS).T
        x["velocity"] = velocity["value"] + velocity["u"] * a
        zero_off = zero["u"] * b
    # the velocity was found at the steps' temperature and is corrected by coefficient and difference
    told = {r["contribution"]: r["value"] for r in rows}
    cold = x["velocity"] - told["temperature coefficient"] * told["temperature"]
    warm = cold + x["temperature coefficient"] * x["temperature"]
    time = x["time of flight"] + x["dispersion" if first else "echoes of plies"]
    time = time - zero_off - x["couplant"]
    return 0.5e-3 * warm * time * (1 + 1e-6 * x["sampling clock"]) + x["surface curvature"]


def try_mode(folder, trace, mode):
    """One trace by one mode: the budget by hand, by SciPy and by Monte Carlo."""
    procedure = os.path.join(folder, "all.ini")
    told = ["--quiet", "--procedure", procedure, "--mode", str(mode), "--format", "json", trace]
    rows = run("thickness", "--budget", *told)
    plain = run("thickness", *told)[0]
    u, freedom, total = by_hand(rows)
    name = f"mode {mode}"
    check(f"{name}: combined {total['u']:.6f} mm as by hand, {u:.6f}",
          abs(total["u"] / u - 1) < 1e-9)
    check(f"{name}: thickness_u_mm {plain['thickness_u_mm']:.6f} is the budget's",
          abs(plain["thickness_u_mm"] / u - 1) < 1e-12)
    check(f"{name}: {total['freedom']:.3f} degrees of freedom as by hand, {freedom:.3f}",
          abs(total["freedom"] / freedom - 1) < 1e-9)
    t = stats.t.ppf(0.5 * (1 + PROBABILITY), math.floor(freedom))
    check(f"{name}: t {total['coverage_t']:.5f} as scipy.stats.t, {t:.5f}",
          abs(total["coverage_t"] / t - 1) < 1e-9)
    check(f"{name}: expanded by both factors", abs(total["expanded_mm"] / (2 * u) - 1) < 1e-9
          and abs(total["expanded_t_mm"] / (t * u) - 1) < 1e-9)
    shares = sum(r["share_percent"] or 0 for r in rows if r["contribution"] != "combined")
    check(f"{name}: shares add up to {shares:.6f} %", abs(shares - 100) < 1e-6)
    drawn = monte_carlo(rows, mode == 1)
    low, high = np.quantile(drawn, [0.5 * (1 - PROBABILITY), 0.5 * (1 + PROBABILITY)])
    print(f"    {name}: {total['value']:.5f} mm, u {u:.5f}; Monte Carlo {drawn.mean():.5f} mm, "
          f"u {drawn.std():.5f}, {low:.5f} to {high:.5f}")
    # the standard deviation of a million draws is good to 0.07 %; of second order is the product of
    # temperature and coefficient, u 0.0010 mm here, which the budget leaves out (JCGM 100, 5.1.2, note)
    check(f"{name}: u as by Monte Carlo within 1 %", abs(drawn.std() / u - 1) < 0.01)
    check(f"{name}: mean as by Monte Carlo", abs(drawn.mean() - total["value"]) < 0.01 * u)
    # sums with rectangles in them have shorter tails than a normal distribution
    check(f"{name}: interval as by Monte Carlo within 3 %",
          abs(0.5 * (high - low) / total["expanded_mm"] - 1) < 0.03)


def main():
    """All checks."""
    with tempfile.TemporaryDirectory() as folder:
        with open(os.path.join(folder, "all.ini"), "w", encoding="ascii") as out:
            out.write(PROCEDURE)
        line, contact = (os.path.join(folder, n) for n in ("line.wav", "contact.wav"))
        for path, more in ((line, ["--delay-line", "pmma:14"]), (contact, [])):
            subprocess.run([PROGRAM, "simulate", "--layer", "carbon:3.2", *more, "-o", path],
                           check=True, capture_output=True)
        try_mode(folder, line, 2)
        try_mode(folder, contact, 1)
    return 1 if failures else 0


if __name__ == "__main__":
    sys.exit(main())

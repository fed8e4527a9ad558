"""Whole stacks: the fit against SciPy's, the verdicts on fresh walls, and the short way out.

The walls are those of independent_sim.py and, by finite differences, of fdtd_set.py; the shares to reach
are the project's own. A share holds where it is no lower than the count that one set in
ten thousand would fall below by chance (binomial).
"""

import functools
import os
import subprocess
import sys
import tempfile
from concurrent.futures import ThreadPoolExecutor

import numpy as np
from scipy import optimize, stats

import fdtd_set
import independent_sim
import score_set

PROBE, PROGRAM = "tests/reference/stack_probe", os.path.abspath("./plyecho")
RATE, CHANCE = 100e6, 1e-4
failures = 0


def check(what, error, most):
    """Say how far we are from the reference; a NaN fails too."""
    global failures
    good = error <= most
    failures += not good
    print(f"{'ok  ' if good else 'FAIL'} {what}: {error:.3g} (at most {most:g})")


def at_least(what, count, of, share):
    """A share that is to be reached, less what chance may take."""
    least = stats.binom.ppf(CHANCE, of, share) if of else 0
    check(f"{what}: {count} of {of} right, wanted {share}; short of {least:.0f} by",
          max(0, least - count), 0)


# --- the fit ------------------------------------------------------------------------------

(AMPLITUDE, START, JITTER, FRONT, SLOPE, TRANSIT, DEPTH, STEP, FILM, FILM_TIME, COVER, COAT_TIME,
 COAT_STEP, SHAPE) = range(14)
NUMBERS = 19
COAT_LOSS, FILM_LOSS = 2.0, 2.5          # over the wall's (stack_model.c)
POWERS = [(0, 1j), (1, 1), (2, 1), (2, 1j), (3, 1), (3, 1j)]   # of a shape's terms (stack_fit.h)


def seen(layers, end):
    """Reflection of layers, each (reflection at its upper face, transit's factor), before `end`."""
    for r, e in reversed(layers):
        end = (r + e * end) / (1 + r * e * end)
    return end


def stack(n, has, f, f0):
    """Reflection of a stack with the numbers n: the equations of stack_model.h."""
    def turn(time, more=1.0):
        loss = more * n[SLOPE] * time
        return np.exp(-loss * f - 2j * np.pi * f * time + 2j / np.pi * loss * f * np.log(f / f0))
    coat = [(n[FRONT], turn(n[COAT_TIME], COAT_LOSS))] if "c" in has else []
    face = n[COAT_STEP] if "c" in has else n[FRONT]
    film = n[FILM_TIME] if "f" in has else 0.0
    upper = coat + [(face, turn(n[DEPTH] if "p" in has else n[TRANSIT]))]
    lower = []
    if "p" in has:
        out = n[STEP]
        if "f" in has:
            lower = [(-n[FILM], turn(film, FILM_LOSS))]
            out = (n[FILM] + n[STEP]) / (1 + n[FILM] * n[STEP])
        lower = lower + [(out, turn(n[TRANSIT] - n[DEPTH] - film))]
    whole = seen(upper + lower, -1.0)
    if "g" in has:
        whole = (1 - n[COVER]) * whole + n[COVER] * seen(upper, -1.0)
    return whole + (np.exp(n[JITTER]) - 1) * n[FRONT]


def fitted(trace, air, start_s, wall_s, slope, end_s, has, asked):
    """What the library makes of it: a dict. asked: {number: (start, mean, u)}."""
    raw = np.concatenate([trace, air]).astype(np.float32).tobytes()
    numbers = [f"{k}={a:.17g}:{m:.17g}:{u:.17g}" for k, (a, m, u) in asked.items()]
    words = [PROBE, "fit", str(len(trace)), *(f"{x:.17g}" for x in
             (RATE, start_s, wall_s, slope, 0.85, end_s)), has or "-", *numbers]
    lines = iter(subprocess.run(words, input=raw, capture_output=True, check=True)
                 .stdout.decode().splitlines())
    out = {}
    for line in lines:
        name, value = line.split()
        if name in ("lines", "numbers"):
            out[name] = np.array([[float(x) for x in next(lines).split()]
                                  for _ in range(int(value))])
        else:
            out[name] = float(value)
    return out


def by_scipy(got, has, asked):
    """The same lines and what is known of the numbers, by scipy.optimize.least_squares."""
    f, p_re, p_im, d_re, d_im, weight = got["lines"].T
    pulse, data = p_re + 1j * p_im, d_re + 1j * d_im
    low, high = got["low_hz"], got["high_hz"]
    x = (2 * f - low - high) / (high - low)
    free = [k for k, (_, _, u) in asked.items() if u >= 0]
    known = [(i, asked[k][1], asked[k][2]) for i, k in enumerate(free) if asked[k][2] > 0]
    begin = got["numbers"][:, 0]
    scale = np.array([1e-8 if k in (START, TRANSIT, DEPTH, FILM_TIME, COAT_TIME) else 0.1
                      for k in free])

    def residual(q):
        n = begin.copy()
        n[free] = q * scale
        g = stack(n, has, f, got["reference_hz"])
        if "s" in has:
            g = g * np.exp(sum(n[SHAPE + i] * w * x ** p for i, (p, w) in enumerate(POWERS)))
        wave = np.exp(n[AMPLITUDE] - 2j * np.pi * f * n[START]) * pulse * g
        off = np.sqrt(weight) * (data - wave)
        return np.concatenate([off.real, off.imag,
                               [(q[i] * scale[i] - m) / u for i, m, u in known]])
    fit = optimize.least_squares(residual, begin[free] / scale, method="lm", xtol=1e-14,
                                 ftol=1e-14, gtol=1e-14)
    inverse = np.linalg.inv(fit.jac.T @ fit.jac)
    covariance = inverse * np.outer(scale, scale)
    evidence = -fit.cost - sum(np.log(u * np.sqrt(2 * np.pi)) for _, _, u in known) \
        + 0.5 * np.linalg.slogdet(inverse)[1] + np.sum(np.log(scale)) \
        + 0.5 * len(free) * np.log(2 * np.pi)
    return free, fit.x * scale, np.sqrt(np.diag(covariance)), 2 * fit.cost, evidence


def explanation(kind, truth):
    """HAS and what is asked, with starts near the truth."""
    v = float(truth["true_velocity_m_s"])
    wall = 2e-3 * truth["thickness_mm"] / v
    slope = truth["true_attenuation_db_mm_mhz"] / 8.6859 * 1e-3 * v
    asked = {AMPLITUDE: (0.0, 0.0, 0.1), START: (0.0, 0.0, 80e-9), JITTER: (0.0, 0.0, 0.13),
             FRONT: (truth["front_reflection"], 0.24, 0.08), SLOPE: (slope, slope, 0.15 * slope),
             TRANSIT: (wall + 5e-9, wall, 0.04 * wall)}
    has = ""
    if kind == "coated":
        has, coat = "c", 2e-6 * truth["coat_um"] / 2500
        asked |= {FRONT: (0.06, 0.06, 0.08), COAT_TIME: (coat, 150e-9, 100e-9),
                  COAT_STEP: (0.18, 0.18, 0.06)}
    if kind in ("interface", "part_gap", "glue_line", "wet_gap"):
        has = "p"
        depth = 2e-3 * truth["depth_mm"] / v
        asked[DEPTH] = (depth + 4e-9, 0.5 * wall, 0.3 * wall)
    if kind == "interface":
        asked[STEP] = (0.1 * np.sign(truth["reflection"]), 0.0, 0.12)
    if kind == "part_gap":
        has, asked[COVER] = "pg", (truth["cover"], 0.5, 0.35)
    if kind in ("glue_line", "wet_gap"):
        has, water = "pf", kind == "wet_gap"
        time = 2e-6 * (truth["gap_um"] / 1483 if water else truth["glue_um"] / 2500)
        asked |= {FILM: (0.517 if water else 0.21, 0.0, -1.0),
                  FILM_TIME: (time, 35e-9 if water else 65e-9, 30e-9)}
        if not water:
            asked[STEP] = (0.0, 0.0, 0.06)
    return has, asked, wall, slope


def against_scipy():
    """Chi-squared, numbers, uncertainties and evidence of every explanation."""
    for kind in ("sound", "interface", "glue_line", "wet_gap", "part_gap", "coated"):
        for index, shaped in ((1, False), (2, False), (3, True)):
            truth, trace, air = independent_sim.make_trace(31, index, 34, "hard", only=kind)
            has, asked, wall, slope = explanation(kind, truth)
            if shaped:
                has += "s"
                turn = truth["phase_rad"]
                asked |= {SHAPE + i: (turn if i == 0 else 0.0, 0.0, 10.0 if i == 0 else 1.0)
                          for i in range(6)}
                asked[AMPLITUDE] = (-0.15, 0.0, 3.0)
            got = fitted(trace, air, 1e-6 * truth["start_us"], wall, slope,
                         1e-6 * truth["front_us"] + 2.5 * wall, has, asked)
            free, mine, u, chi2, evidence = by_scipy(got, has, asked)
            name = f"{kind} {index}{', shape fitted' if shaped else ''}"
            check(f"{name}: settled", 1 - got["settled"], 0)
            check(f"{name}: chi-squared {chi2:.1f}, library less SciPy",
                  abs(got["chi2"] - chi2), 0.02)
            check(f"{name}: numbers, largest difference in deviations",
                  np.abs((got["numbers"][free, 1] - mine) / u).max(), 0.1)
            check(f"{name}: deviations, largest relative difference",
                  np.abs(got["numbers"][free, 2] / u - 1).max(), 0.02)
            check(f"{name}: logarithm of the evidence",
                  abs(got["log_evidence"] - evidence), 0.05)


# --- verdicts on fresh walls ----------------------------------------------------------------

@functools.lru_cache
def scored(folder, with_pulse):
    """Truth, answers and figures of merit of a set."""
    rows = score_set.read_truth(folder)
    with ThreadPoolExecutor(2) as pool:
        answers = list(pool.map(
            lambda r: score_set.assess(PROGRAM, folder, r, with_pulse), rows))
    return rows, answers, score_set.summarise(rows, answers)


def shares(name, folder, with_pulse, right, found, false):
    """What a set must reach; a gap called sound is never excused."""
    rows, answers, s = scored(folder, with_pulse)
    name = f"{name}, {'with' if with_pulse else 'without'} pulse"
    good = sum(set(r["accept"].split("|")) <= {"no-indication", "undecided"} for r in rows)
    at_least(f"{name}: verdicts", round(s["right"] * s["n"]), s["n"], right)
    at_least(f"{name}: gaps", round(s["found"] * s["gaps"]), s["gaps"], found)
    at_least(f"{name}: good walls", round((1 - s["false"]) * good), good, 1 - false)
    at_least(f"{name}: depths within {score_set.DEPTH_LIMIT_UM:g} um",
             int(np.sum(s["depth"] <= score_set.DEPTH_LIMIT_UM)), len(s["depth"]),
             score_set.DEPTH_SHARE)
    check(f"{name}: gaps called no-indication", s["missed"], 0)
    check(f"{name}: answers in trouble",
          sum(a["verdict"] == score_set.TROUBLE for a in answers), 0)


def seldom_surely_wrong(name, folder, with_pulse):
    """In noise doubt is right, but sure errors stay rare."""
    _, _, s = scored(folder, with_pulse)
    n = s["n"]
    at_least(f"{name}, {'with' if with_pulse else 'without'} pulse: not surely wrong",
             round((1 - s["sure"]) * n), n, 1 - score_set.SURE_WRONG_SHARE)


# --- the short way --------------------------------------------------------------------------

def samples(path):
    """The amplitudes of a trace file of independent_sim.py."""
    with open(path, encoding="ascii") as f:
        table = f.read().split("time_us,amplitude\n")[1]
    return np.array(table.replace("\n", ",").split(",")[1:-1:2], float)


def record(folder, row, with_pulse):
    """What the probe reads of one trace."""
    told = [1e-6 * float(row["start_us"]), float(row["velocity_m_s"]),
            float(row["velocity_u_m_s"]), 1e-3 * float(row["nominal_mm"]),
            float(row["attenuation_db_mm_mhz"]) / 8.685889638065035 * 1e-3, float(with_pulse)]
    waves = [samples(os.path.join(folder, row[key])) for key in ("trace", "pulse")]
    return np.array(told).tobytes() + np.concatenate(waves).astype(np.float32).tobytes()


def judged(folder, rows, with_pulse):
    """Verdict and odds by the short way and by the whole comparison, of each trace."""
    raw = b"".join(record(folder, r, with_pulse) for r in rows)
    out = subprocess.run([PROBE, "judge", "2048", f"{RATE:.17g}", str(len(rows))], input=raw,
                         capture_output=True, check=True).stdout.decode()
    return [line.split() for line in out.splitlines()]


def the_short_way_agrees(sets):
    """A plain wall that leaves nothing to explain ends early; the whole comparison agrees.

    Odds differ, as the short way does not know the rivals, but the verdict may not: in one trace of
    a thousand at most.
    """
    count, early, differ, strange = 0, 0, [], 0
    for folder in sets:
        for with_pulse in (True, False):
            rows, answers, _ = scored(folder, with_pulse)
            for r, a, (short, odds, whole, other) in zip(rows, answers,
                                                         judged(folder, rows, with_pulse)):
                count += 1
                early += odds != other
                strange += a["verdict"] != short
                if short != whole:
                    differ.append(f"{os.path.basename(folder)}/{r['trace']} {r['class']}, "
                                  f"pulse {with_pulse}: {short}, {whole}")
    print("\n".join(["     short way against whole comparison", *differ]))
    check("verdicts of the probe that are not the program's", strange, 0)
    check(f"the short way was taken, by the odds, {early} times: never", early == 0, 0)
    at_least("short way, the same verdicts", count - len(differ), count, 0.999)


# --- half a cycle off -----------------------------------------------------------------------

def half_a_cycle_is_seen(folder):
    """A plate that fits half a cycle off, too, with the pulse reversed and a coat to mend its front.

    Told with odds of 1000 and 13 u off the wall, once; the bound is the simulator's own.
    """
    truth, trace, _ = independent_sim.make_trace(1995, 285, 26.0, "plate",
                                                 independent_sim.defaults(), None)
    truth["trace"] = "plate.csv"
    os.makedirs(folder)
    independent_sim.write_csv(os.path.join(folder, truth["trace"]), trace, truth["start_us"],
                              [("full_scale", "1")])
    row = {k: independent_sim.cell(truth[k]) for k in independent_sim.TRUTH}
    answer = score_set.assess(PROGRAM, folder, row, False)
    error_um = 1e3 * abs(float(answer["thickness_mm"]) - truth["thickness_mm"])
    check("plate 285 of seed 1995, 26 dB: error over the bound", error_um / truth["bound_um"], 6)


# --- all of it ------------------------------------------------------------------------------

def make(module, folder, *words):
    """A set in a folder of its own."""
    module.write_set(module.parser().parse_args([*words, "--out", folder]))
    return folder


def on_fresh_walls(top):
    """The shares of the project, on seeds that nothing was tuned to."""
    def folder(name):
        return os.path.join(top, name)
    hard = make(independent_sim, folder("hard"), "--set", "hard", "--snr", "34", "--count", "70",
                "--seed", "5501")
    plain = make(independent_sim, folder("plain"), "--snr", "40", "--count", "60", "--seed", "5502")
    finite = make(fdtd_set, folder("fdtd"), "--set", "hard", "--snr", "34", "--count", "24",
                  "--seed", "5503")
    noisy = make(independent_sim, folder("noisy"), "--set", "hard", "--snr", "14", "--count", "60",
                 "--seed", "5504")
    for with_pulse, of_hard, found, false in ((True, 0.95, 0.98, 0.01), (False, 0.90, 0.95, 0.02)):
        shares("hard, 34 dB", hard, with_pulse, of_hard, found, false)
        shares("plain, 40 dB", plain, with_pulse, 0.98, found, false)
        shares("finite differences, hard, 34 dB", finite, with_pulse, of_hard, found, false)
        seldom_surely_wrong("hard, 14 dB", noisy, with_pulse)
    the_short_way_agrees((hard, plain, noisy))


if not os.path.exists(PROBE):
    sys.exit(f"{PROBE} is missing: make check builds it")
against_scipy()
with tempfile.TemporaryDirectory() as folder:
    half_a_cycle_is_seen(os.path.join(folder, "plate"))
    on_fresh_walls(folder)
sys.exit(failures > 0)

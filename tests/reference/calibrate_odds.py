#!/usr/bin/python3
"""How often `plyecho assess` is right at the odds that it gives.

    calibrate_odds.py --plyecho build/plyecho [--least-count 20] DIR...

A tool, not a test. DIR: sets of independent_sim.py or fdtd_set.py. Each is judged with and
without --pulse. For each range of evidence_ratio the table says how many answers there are, the
share that is right with its 95 % bounds (Clopper and Pearson, Biometrika 26 (1934) 404; from
memory), and the share that the odds promise: the mean of r / (r + 1). Left out are answers that
hold back (undecided, unreadable), that give no ratio, and those where the truth accepts the next
best verdict as well, since nothing is at stake between the two.

Below each table stands the power k for which odds of r^k would have been right as often as they
say: the most likely one for right answers at r^k / (r^k + 1), with the range in which twice the
logarithm of the likelihood falls by less than 3.84. k = 1: the odds are honest; below: too sure.
Ratios stop at 1000, so that k is taken from those below, and the last range stands for itself:
it should be right in 0.999.

    --dump FILE  writes a row an answer: set, pulse, class, verdict, next_best, ratio, right
"""

import argparse
import csv
import math
import os
from concurrent.futures import ThreadPoolExecutor

import numpy as np
from scipy import optimize, stats

import score_set

EDGES = [1.0, 3.0, 10.0, 100.0, 999.5, math.inf]
NAMES = ["1-3", "3-10", "10-100", "100-999", "1000"]
HELD = ("undecided", "unreadable", score_set.TROUBLE)


def answers_of(program, folder, with_pulse, jobs):
    """(row of the truth, answer) of a whole set."""
    rows = score_set.read_truth(folder)
    with ThreadPoolExecutor(jobs) as pool:
        return list(zip(rows, pool.map(
            lambda r: score_set.assess(program, folder, r, with_pulse), rows)))


def at_stake(row, answer):
    """Whether the answer's odds can be right or wrong."""
    ratio = score_set.number(answer.get("evidence_ratio", ""))
    accepted = row["accept"].split("|")
    both = answer["verdict"] in accepted and answer.get("next_best") in accepted
    return answer["verdict"] not in HELD and ratio >= 1.0 and not both


def judged(pairs):
    """Ratios, and whether each answer is right."""
    used = [(r, a) for r, a in pairs if at_stake(r, a)]
    return (np.array([float(a["evidence_ratio"]) for _, a in used]),
            np.array([score_set.is_right(r, a) for r, a in used], bool))


def bounds(right, count):
    """95 % bounds of a share."""
    low = stats.beta.ppf(0.025, right, count - right + 1) if right else 0.0
    high = stats.beta.ppf(0.975, right + 1, count - right) if right < count else 1.0
    return low, high


def power(ratio, right):
    """The most likely power of the odds, and its range: (k, low, high)."""
    below = ratio < EDGES[-2]
    log_r, won = np.log(ratio[below]), right[below]

    def lack(k):
        return 2 * np.sum(np.logaddexp(0.0, np.where(won, -k, k) * log_r))
    best = optimize.minimize_scalar(lack, bounds=(-1.0, 5.0), method="bounded")

    def past(k):
        return lack(k) - best.fun - 3.84
    ends = [optimize.brentq(past, *sorted((best.x, end))) if past(end) > 0 else end
            for end in (-1.0, 5.0)]
    return best.x, *ends


def table(pairs, least):
    """Lines of a table."""
    ratio, right = judged(pairs)
    yield f"{'odds':>9s}{'answers':>9s}{'right':>8s}{'95 % bounds':>16s}{'promised':>10s}"
    for name, low, high in zip(NAMES, EDGES, EDGES[1:]):
        mine = (ratio >= low) & (ratio < high)
        n, k = int(mine.sum()), int(right[mine].sum())
        if n == 0:
            yield f"{name:>9s}{0:9d}"
            continue
        less, more = bounds(k, n)
        promised = np.mean(ratio[mine] / (ratio[mine] + 1))
        wrong = ("  too sure" if more < promised else "  too modest" if less > promised else "")
        yield f"{name:>9s}{n:9d}{k / n:8.3f}{less:9.3f}-{more:.3f}{promised:11.3f}{wrong}"
    held = sum(a["verdict"] in HELD for _, a in pairs)
    if np.sum(ratio < EDGES[-2]) >= least:
        yield "power of the odds {:.2f} ({:.2f} to {:.2f})".format(*power(ratio, right))
    yield f"{len(ratio)} answers at stake of {len(pairs)}, {held} held back"


def dump(path, results):
    """A row an answer."""
    with open(path, "w", newline="", encoding="ascii") as f:
        out = csv.writer(f, lineterminator="\n")
        out.writerow("set pulse trace class accept verdict next_best ratio at_stake right".split())
        for (folder, with_pulse), pairs in results.items():
            for r, a in pairs:
                out.writerow([os.path.basename(folder), int(with_pulse), r["trace"], r["class"],
                              r["accept"], a["verdict"], a.get("next_best", ""),
                              a.get("evidence_ratio", ""), int(at_stake(r, a)),
                              int(score_set.is_right(r, a))])


def main():
    p = argparse.ArgumentParser(description=__doc__.split("\n", maxsplit=1)[0])
    p.add_argument("--plyecho", default="plyecho", metavar="PATH")
    p.add_argument("--jobs", type=int, default=2)
    p.add_argument("--least-count", type=int, default=20, metavar="N",
                   help="answers below 1000 from which a power is fitted")
    p.add_argument("--dump", metavar="FILE")
    p.add_argument("sets", nargs="+", metavar="DIR")
    opt = p.parse_args()
    results = {}
    for with_pulse in (True, False):
        for folder in opt.sets:
            pairs = answers_of(opt.plyecho, folder, with_pulse, opt.jobs)
            results[folder, with_pulse] = pairs
            print(f"\n{folder}, {'with' if with_pulse else 'without'} --pulse")
            print("\n".join(table(pairs, opt.least_count)), flush=True)
    for with_pulse in (True, False):
        whole = [x for key, pairs in results.items() if key[1] == with_pulse for x in pairs]
        print(f"\nall sets, {'with' if with_pulse else 'without'} --pulse")
        print("\n".join(table(whole, opt.least_count)))
    if opt.dump:
        dump(opt.dump, results)


if __name__ == "__main__":
    main()

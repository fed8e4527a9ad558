#!/usr/bin/python3
"""Run `plyecho assess` on a set of independent_sim.py and score the verdicts.

    score_set.py --plyecho build/plyecho --set DIR [--with-pulse] [--show-wrong]

Each trace is one process, told what its row of truth.csv says a user knows.
Exit status: 0 the limits hold, 1 one does not, 2 trouble.
"""

import argparse
import csv
import math
import os
import subprocess
import sys
from collections import Counter
from concurrent.futures import ThreadPoolExecutor

import numpy as np

VERDICTS = ["no-indication", "inner-echo", "delamination", "thin", "attenuated",
            "undecided", "unreadable"]
TROUBLE = "(trouble)"
COLUMNS = ("trace,channel,verdict,flagged,thickness_mm,thickness_u_mm,mode,"
           "indication_depth_mm,indication_db,evidence_ratio,from_mm,to_mm,tof_us,"
           "tof_u_us,reason").split(",")
BIAS_LIMIT_UM = 8.0
DEPTH_LIMIT_UM, DEPTH_SHARE = 50.0, 0.95     # of the delaminations found
BOUND_LIMIT = 6.0                            # no single error above so many bounds
SURE_RATIO, SURE_U = 3.0, 3.0                # odds, and errors in u, that count as sure
SURE_WRONG_SHARE = 0.02
NOISY_DB = 20.0                              # below: right is not asked for, doubt is


def number(text):
    """A cell as a float; an empty one is nan."""
    return float(text) if text not in ("", None) else math.nan


def read_truth(folder):
    """The rows of truth.csv."""
    with open(os.path.join(folder, "truth.csv"), newline="", encoding="ascii") as f:
        return list(csv.DictReader(f))


def command(program, folder, row, with_pulse):
    """The command line for one trace."""
    words = [program, "assess", "--format", "csv",
             "--velocity", row["velocity_m_s"], "--velocity-u", row["velocity_u_m_s"],
             "--nominal", row["nominal_mm"],
             "--attenuation", row["attenuation_db_mm_mhz"]]
    if row.get("zero_us"):
        words += ["--zero", row["zero_us"]]
    if with_pulse and row["pulse"]:
        words += ["--pulse", os.path.join(folder, row["pulse"])]
    return words + [os.path.join(folder, row["trace"])]


def assess(program, folder, row, with_pulse):
    """The program's answer for one trace, as a dict of its CSV row."""
    run = subprocess.run(command(program, folder, row, with_pulse), check=False,
                         capture_output=True, text=True, timeout=60)
    lines = list(csv.reader(run.stdout.splitlines()))
    said = run.stderr.strip()
    if run.returncode not in (0, 1) or len(lines) != 2:
        return {"verdict": TROUBLE, "reason": f"status {run.returncode}: {said}"}
    if lines[0][:len(COLUMNS)] != COLUMNS or len(lines[0]) != len(lines[1]):
        return {"verdict": TROUBLE, "reason": f"columns are {','.join(lines[0])}"}
    answer = dict(zip(*lines))
    flagged = answer["flagged"] == "yes"
    if answer["verdict"] not in VERDICTS or flagged != (run.returncode == 1) \
            or flagged == (answer["verdict"] == "no-indication"):
        answer["reason"] = (f"verdict {answer['verdict']}, flagged {answer['flagged']}, "
                            f"status {run.returncode} do not go together")
        answer["verdict"] = TROUBLE
    return answer


def is_right(row, answer):
    """Whether the verdict is one that the truth accepts."""
    return answer["verdict"] in row["accept"].split("|")


def surely_wrong(row, answer):
    """Whether a wrong verdict or thickness comes without a doubt.

    A wrong verdict without a ratio is as sure as one can be; to hold back is not wrong.
    Thickness counts where the wall is nothing but the laminate whose velocity is told.
    """
    held = answer["verdict"] in ("undecided", "unreadable", TROUBLE)
    ratio = number(answer.get("evidence_ratio", ""))
    if not held and not is_right(row, answer) and not ratio <= SURE_RATIO:
        return True
    if not set(row["accept"].split("|")) <= {"no-indication", "thin", "undecided"}:
        return False
    error = number(answer.get("thickness_mm", "")) - number(row["thickness_mm"])
    return abs(error) > SURE_U * number(answer.get("thickness_u_mm", ""))


def confusion(rows, answers):
    """Lines of a table of verdicts by class."""
    seen = [v for v in VERDICTS + [TROUBLE] if any(a["verdict"] == v for a in answers)]
    yield f"{'class':12s}{'n':>5s}{'right':>7s}" + "".join(f"{v:>15s}" for v in seen)
    for kind in dict.fromkeys(r["class"] for r in sorted(rows, key=lambda r: r["class"])):
        mine = [(r, a) for r, a in zip(rows, answers) if r["class"] == kind]
        count = Counter(a["verdict"] for _, a in mine)
        right = sum(is_right(r, a) for r, a in mine) / len(mine)
        yield (f"{kind:12s}{len(mine):5d}{right:7.3f}"
               + "".join(f"{count[v]:15d}" for v in seen))


def thickness_errors(rows, answers, kinds):
    """Errors, stated u, errors with the velocity's error taken out, bounds; in um."""
    out = []
    for r, a in zip(rows, answers):
        d = number(a.get("thickness_mm", ""))
        if r["class"] in kinds and not math.isnan(d):
            scale = float(r["true_velocity_m_s"]) / float(r["velocity_m_s"])
            true = float(r["thickness_mm"])
            out.append((d - true, number(a["thickness_u_mm"]), d * scale - true,
                        1e-3 * number(r.get("bound_um"))))
    return 1e3 * np.array(out).reshape(-1, 4)


def rms(x):
    """Root mean square."""
    return float(np.sqrt(np.mean(np.square(x))))


def summarise(rows, answers):
    """The figures of merit, as a dict."""
    pairs = list(zip(rows, answers))
    gaps = [(r, a) for r, a in pairs if "delamination" in r["accept"]]
    good = [(r, a) for r, a in pairs
            if set(r["accept"].split("|")) <= {"no-indication", "undecided"}]
    err = thickness_errors(rows, answers, {r["class"] for r, _ in good})
    known = err[~np.isnan(err[:, 1])]
    depth = np.array([1e3 * abs(number(a["indication_depth_mm"]) - float(r["depth_mm"]))
                      for r, a in gaps if a["verdict"] == "delamination"])
    return {
        "n": len(rows), "right": sum(is_right(r, a) for r, a in pairs) / len(rows),
        "gaps": len(gaps),
        "missed": sum(a["verdict"] == "no-indication" for _, a in gaps),
        "found": sum(is_right(r, a) for r, a in gaps) / max(1, len(gaps)),
        "false": sum(not is_right(r, a) for r, a in good) / max(1, len(good)),
        "booked": sum(not math.isnan(number(a.get("thickness_mm", "")))
                      for r, a in pairs if r["reflection"] == "-1"),
        "errors": err, "known": known, "depth": depth[~np.isnan(depth)],
        "bias": float(np.mean(err[:, 0])) if len(err) else math.nan,
        "sure": sum(surely_wrong(r, a) for r, a in pairs) / len(rows),
        "snr": float(rows[0]["snr_db"]),
    }


def describe(s):
    """Lines that print a summary."""
    yield f"right                     {s['right']:.4f} of {s['n']}"
    yield f"gaps found                {s['found']:.4f} of {s['gaps']}"
    yield f"gaps called no-indication {s['missed']}"
    yield f"false calls, good walls   {s['false']:.4f}"
    yield f"full shadows with a wall's thickness booked: {s['booked']}"
    e, k = s["errors"], s["known"]
    if len(e):
        yield (f"thickness, good walls     bias {s['bias']:+.2f} um, rms {rms(e[:, 0]):.2f} um, "
               f"largest {np.abs(e[:, 0]).max():.1f} um, of {len(e)}")
        yield (f"  the time's share        bias {np.mean(e[:, 2]):+.2f} um, "
               f"rms {rms(e[:, 2]):.2f} um, largest {np.abs(e[:, 2]).max():.1f} um")
    if len(e) and not np.isnan(e[:, 3]).all():
        ratio = np.abs(e[:, 2]) / e[:, 3]
        yield (f"  over the bound          rms {rms(ratio):.3f}, largest {ratio.max():.2f}, "
               f"above {BOUND_LIMIT:g}: {np.sum(ratio > BOUND_LIMIT)}")
        yield f"  u over the bound        rms {rms(e[:, 1] / e[:, 3]):.3f}"
    if len(k):
        yield (f"  within 2 u              {np.mean(np.abs(k[:, 0]) <= 2 * k[:, 1]):.3f}, "
               f"rms u / rms error {rms(k[:, 1]) / rms(k[:, 0]):.2f}")
    if len(s["depth"]):
        q = np.quantile(s["depth"], [0.5, 0.9, 0.99, 1.0])
        yield ("depth error, gaps found   quantiles 50/90/99/100 %: "
               + " ".join(f"{x:.0f}" for x in q) + " um")
        yield f"  within {DEPTH_LIMIT_UM:g} um            {near(s):.4f} of {len(s['depth'])}"
    yield f"surely wrong              {s['sure']:.4f} of {s['n']}"


def near(s):
    """Share of the depths found that are within the limit."""
    return float(np.mean(s["depth"] <= DEPTH_LIMIT_UM))


def failures(s, least):
    """The limits that do not hold, each in words."""
    if s["snr"] < NOISY_DB:
        if s["sure"] > SURE_WRONG_SHARE:
            yield f"surely wrong in {s['sure']:.4f} of cases, wanted {SURE_WRONG_SHARE}"
        return
    if len(s["depth"]) and near(s) < DEPTH_SHARE:
        yield (f"depths within {DEPTH_LIMIT_UM:g} um in {near(s):.4f} of cases, "
               f"wanted {DEPTH_SHARE}")
    if s["right"] < least:
        yield f"right in {s['right']:.4f} of cases, wanted {least}"
    if s["missed"]:
        yield f"{s['missed']} delaminations called no-indication, wanted none"
    if not abs(s["bias"]) < BIAS_LIMIT_UM:
        yield f"thickness bias {s['bias']:.2f} um, wanted below {BIAS_LIMIT_UM}"


def wrong_lines(rows, answers):
    """One line a wrong answer, with what the truth was."""
    for r, a in zip(rows, answers):
        if not is_right(r, a):
            facts = " ".join(f"{k}={r[k][:7]}" for k in
                             ("thickness_mm", "depth_mm", "cover", "reflection",
                              "nominal_mm", "bandwidth", "ring", "front_db", "glue_um",
                              "coat_um", "gap_um") if r.get(k))
            yield (f"{r['trace']} {r['class']}: {a['verdict']} "
                   f"[{a.get('indication_depth_mm', '')}] {facts} ({a.get('reason', '')})")


def report(rows, answers, least=None, show_wrong=False):
    """Print everything; return the exit status."""
    snr = float(rows[0]["snr_db"])
    least = least if least is not None else (0.98 if snr >= 35 else 0.95)
    summary = summarise(rows, answers)
    print("\n".join([*confusion(rows, answers), "", *describe(summary)]))
    if show_wrong:
        print("\n".join(["", *wrong_lines(rows, answers)]))
    bad = list(failures(summary, least))
    for line in bad:
        print("FAILED: " + line)
    return 1 if bad else 0


def parser():
    """The command line."""
    p = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    p.add_argument("--plyecho", default="plyecho", metavar="PATH")
    p.add_argument("--set", required=True, metavar="DIR")
    p.add_argument("--jobs", type=int, default=2)
    p.add_argument("--with-pulse", dest="pulse", action="store_true", default=False)
    p.add_argument("--without", dest="pulse", action="store_false",
                   help="no --pulse: it comes from the trace itself (the default)")
    p.add_argument("--show-wrong", action="store_true")
    p.add_argument("--least", type=float, default=None,
                   help="share right to reach (0.98, below 35 dB 0.95)")
    return p


def main():
    opt = parser().parse_args()
    rows = read_truth(opt.set)
    with ThreadPoolExecutor(opt.jobs) as pool:
        answers = list(pool.map(lambda r: assess(opt.plyecho, opt.set, r, opt.pulse), rows))
    print(f"{opt.set}, {rows[0]['snr_db']} dB, {'with' if opt.pulse else 'without'} --pulse")
    return report(rows, answers, opt.least, opt.show_wrong)


if __name__ == "__main__":
    try:
        sys.exit(main())
    except (OSError, KeyError, ValueError, IndexError) as problem:
        print(f"score_set.py: {problem!r}", file=sys.stderr)
        sys.exit(2)

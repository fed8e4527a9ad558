#!/usr/bin/python3
"""What a scan of a simulated tube found, held against its truth.

    score_scan.py --plyecho PATH [--results DIR] FOLDER...

FOLDER is one that scan_tube.py made.  plyecho scan runs over it, or its results
are read from DIR; each thing that must hold is a line, `ok` or `FAIL`, with its
figures.  The status is 1 where one fails.
"""

import argparse
import collections
import csv
import json
import os
import subprocess
import sys
import tempfile

LEAST_COVER = 0.2        # of the beam, from which one trace has to tell a gap
LEAST_KEPT = 0.1         # from which what one trace tells must stay
MOST_KEPT_AS_DOUBT = 0.05    # of them may be places to be read again instead
LEAST_BEFORE_SLEEVE = 0.3    # where the sleeve's own echo is stronger
COVERAGE = 2.0           # uncertainties
MOST_AGAIN = 0.01        # of the places may ask to be read again for no reason
MOST_WRONG = 0.005       # of the places may have a wrong second verdict that makes no indication


def run_scan(program, folder, out, more=()):
    """Scan a folder into `out`."""
    words = [program, "scan", os.path.join(folder, "manifest.csv"), "--procedure",
             os.path.join(folder, "procedure.ini"), "--out", out, "--quiet", *more]
    run = subprocess.run(words, check=False, capture_output=True, text=True, timeout=600)
    if run.returncode not in (0, 1):
        raise RuntimeError(f"{' '.join(words)}\nstatus {run.returncode}: {run.stderr}")


def number(cell):
    """A cell as a number; None where it is empty."""
    return float(cell) if cell else None


def turn(a, b):
    """From b to a in degrees, the short way."""
    return (a - b + 180.0) % 360.0 - 180.0


class Scan:
    """The tables of a scan and the truth beside it."""

    def __init__(self, folder, out):
        with open(os.path.join(folder, "truth.json"), encoding="ascii") as f:
            self.truth = json.load(f)
        with open(os.path.join(out, "summary.json"), encoding="utf-8") as f:
            self.summary = json.load(f)
        self.readings = self.table(out, "readings.csv")
        self.indications = self.table(out, "indications.csv")
        truth = {self.key(p): p for p in self.truth["places"]}
        self.pairs = [(truth[self.key(r)], r) for r in self.readings]

    @staticmethod
    def table(out, name):
        """A CSV file as dicts."""
        with open(os.path.join(out, name), encoding="utf-8", newline="") as f:
            return list(csv.DictReader(f))

    @staticmethod
    def key(place):
        """What tells a place from another."""
        return round(float(place["angle_deg"]), 3), round(float(place["axial_mm"]), 3)

    def overlaps(self, row, flaw):
        """Whether an indication and a flaw share ground."""
        width = float(row["extent_deg"])
        middle = float(row["from_deg"]) + width / 2
        beside = abs(turn(middle, flaw["from_deg"] + flaw["width_deg"] / 2))
        return (beside < (width + flaw["width_deg"]) / 2
                and float(row["from_axial_mm"]) < flaw["to_axial_mm"]
                and float(row["to_axial_mm"]) > flaw["from_axial_mm"])


def wanted(place):
    """The verdicts that are right at a place, once the neighbours have been heard."""
    if not place["coupled"]:
        return {"unreadable"}
    if place["eta"] >= (LEAST_BEFORE_SLEEVE if place["sleeve"] else LEAST_COVER):
        return {"delamination"}
    beside = {"inner-echo"} if place["sleeve"] > 0.5 else {"no-indication"}
    if 0 < place["sleeve"] < 1:          # over the sleeve's end
        beside = {"inner-echo", "no-indication"}
    if place["eta"] > 0.02:
        beside |= {"delamination", "inner-echo"}
    return beside


def check_flaw(scan, flaw):
    """One delamination: found once, its edges within one spacing, depth and size."""
    rows = [r for r in scan.indications if r["kind"] == "delamination" and scan.overlaps(r, flaw)]
    name = f"delamination '{flaw['name']}'"
    yield len(rows) == 1, f"{name} found {len(rows)} times"
    if len(rows) != 1:
        return
    row = rows[0]
    pitch, along = scan.truth["pitch_deg"], scan.truth["pitch_mm"]
    off = [turn(float(row["from_deg"]), flaw["from_deg"]) / pitch,
           turn(float(row["to_deg"]), flaw["to_deg"]) / pitch,
           (float(row["from_axial_mm"]) - flaw["from_axial_mm"]) / along,
           (float(row["to_axial_mm"]) - flaw["to_axial_mm"]) / along]
    yield max(map(abs, off)) <= 1.0, (f"{name} edges off by "
                                      + ", ".join(f"{x:+.2f}" for x in off) + " spacings")
    for what, truth in (("extent_arc_mm", "arc_mm"), ("extent_axial_mm", "axial_mm")):
        got, u = float(row[what]), float(row[what.replace("_mm", "_u_mm")])
        yield abs(got - flaw[truth]) <= 2 * COVERAGE * u, (
            f"{name} {what} {got:.2f} (u {u:.2f}), it is {flaw[truth]:.2f}")
    depths = float(row["least_depth_mm"]), float(row["most_depth_mm"])
    yield max(abs(d - flaw["depth_mm"]) for d in depths) < 0.1, (
        f"{name} {depths[0]:.3f} to {depths[1]:.3f} mm deep, it is {flaw['depth_mm']:.3f}")
    yield True, f"{name} area {float(row['area_mm2']):.1f} mm2, it is {flaw['area_mm2']:.1f}"


def check_sleeve(scan):
    """One inner echo all round, from the sleeve's end to the last ring; apart from it what is not as declared."""
    declared = scan.truth["declared"]
    inner = [r for r in scan.indications if r["kind"] == "inner-echo"]
    rows = [r for r in inner if r["declared"] == ("yes" if declared else "no")]
    begin, pitch = scan.truth["sleeve"]["from_axial_mm"], scan.truth["pitch_mm"]
    last = max(p["axial_mm"] for p in scan.truth["places"])
    yield len(rows) == 1, f"{len(rows)} inner echoes, of " + ", ".join(
        f"{r['places']} places" for r in rows)
    if len(rows) != 1:
        return
    row = rows[0]
    yield float(row["extent_deg"]) == 360.0, f"sleeve over {row['extent_deg']} degrees"
    off = (float(row["from_axial_mm"]) - begin, float(row["to_axial_mm"]) - last)
    yield max(map(abs, off)) <= pitch, f"sleeve ends off by {off[0]:+.2f} and {off[1]:+.2f} mm"
    other = sum(int(r["places"]) for r in inner if r["declared"] == "no")
    flagged = sum(r["second_verdict"] == "inner-echo" and r["second_flagged"] == "yes"
                  for r in scan.readings)
    yield other == flagged, f"{other} places in indications not as declared, {flagged} are flagged"
    over = [r for p, r in scan.pairs if p["sleeve"] == 1 and p["eta"] == 0 and p["coupled"]]
    plain = sum(r["second_flagged"] == "no" for r in over) / len(over)
    yield plain >= 0.95 if declared else plain <= 0.01, (
        f"sleeve {'declared' if declared else 'not declared'}: {100 * plain:.1f} % of its "
        f"{len(over)} sound places not flagged, the row says declared {row['declared']}")


def check_false(scan):
    """Nothing that is not there, and no wall called thin."""
    stray = [r for r in scan.indications
             if r["kind"] != "inner-echo"
             and not (r["kind"] == "delamination"
                      and any(scan.overlaps(r, f) for f in scan.truth["flaws"]))]
    yield not stray, "false indications: " + ("none" if not stray else "; ".join(
        f"{r['kind']} of {r['places']} at {r['worst_angle_deg']} deg {r['worst_axial_mm']} mm"
        for r in stray))
    for column in ("verdict", "second_verdict"):
        thin = sum(r[column] == "thin" for r in scan.readings)
        yield thin == 0, f"thin in {column}: {thin}"


def check_places(scan):
    """Place by place."""
    dry = [r for p, r in scan.pairs if not p["coupled"]]
    unread = sum(r["second_verdict"] == r["verdict"] == "unreadable" for r in dry)
    yield unread == len(dry), f"{unread} of {len(dry)} dry places unreadable"
    wrong = [(p, r) for p, r in scan.pairs if r["second_verdict"] not in wanted(p)]
    missed = sum(p["eta"] >= LEAST_COVER and r["second_verdict"] == "no-indication"
                 for p, r in wrong)
    yield missed == 0, f"{missed} places of a delamination passed"
    again = [w for w in wrong if w[1]["second_verdict"] == "unreadable"]
    wrong = [w for w in wrong if w not in again]
    yield len(again) <= MOST_AGAIN * len(scan.pairs), f"{len(again)} more to be read again"
    raw = sum(r["verdict"] not in wanted(p) for p, r in scan.pairs)
    kinds = collections.Counter(f"{'/'.join(sorted(wanted(p)))} as {r['second_verdict']}"
                                for p, r in wrong)
    yield len(wrong) <= MOST_WRONG * len(scan.pairs), (
        f"{len(wrong)} of {len(scan.pairs)} second verdicts wrong (raw: {raw})"
        + "".join(f"; {n} {k}" for k, n in kinds.most_common()))


def check_kept(scan):
    """What one trace told of a small flaw is not lost among its neighbours."""
    flawed = [r for p, r in scan.pairs if p["eta"] >= LEAST_KEPT and r["flagged"] == "yes"]
    lost = [r for r in flawed if r["second_flagged"] != "yes"]
    yield not lost, (f"{len(lost)} of {len(flawed)} places flagged by themselves, over {LEAST_KEPT:g} "
                     "of the beam or more of a flaw, are no longer flagged")
    passed = sum(r["second_verdict"] == "no-indication" for r in flawed)
    yield passed <= MOST_KEPT_AS_DOUBT * len(flawed), (
        f"{passed} of them are in doubt, and no indication")


def check_wall(scan):
    """The least wall and its place."""
    wall, least = scan.summary["wall"], scan.truth["least_wall"]
    if wall.get("least_mm") is None:
        yield False, "no least wall"
        return
    z = (wall["least_mm"] - least["wall_mm"]) / wall["least_u_mm"]
    yield abs(z) <= COVERAGE, (f"least wall {wall['least_mm']:.4f} mm (u {wall['least_u_mm']:.4f}), "
                               f"it is {least['wall_mm']:.4f}: {z:+.2f} u")
    there = {scan.key(p): p["wall_mm"] for p in scan.truth["places"]}[scan.key(wall)]
    yield there - least["wall_mm"] < 0.01, (
        f"told at {wall['angle_deg']:g} deg {wall['axial_mm']:g} mm, where the wall is {there:.4f} mm; "
        f"it is at {least['angle_deg']:g} deg {least['axial_mm']:g} mm")
    errors = [(float(r["thickness_mm"]) - p["wall_mm"]) / float(r["thickness_u_mm"])
              for p, r in scan.pairs
              if p["coupled"] and p["eta"] == 0 and p["sleeve"] == 0 and r["thickness_mm"]]
    inside = sum(abs(e) < COVERAGE for e in errors) / len(errors)
    yield inside >= 0.93, f"{100 * inside:.1f} % of {len(errors)} walls of bare carbon within 2 u"


def score(folder, out):
    """All checks of one folder as (holds, line)."""
    scan = Scan(folder, out)
    for flaw in scan.truth["flaws"]:
        yield from check_flaw(scan, flaw)
    small = scan.truth.get("small_flaws", [])
    checks = (check_false, check_sleeve) if not small else ()
    for check in (*checks, check_kept, check_wall, check_places):
        yield from check(scan)


def show_wrong(folder, out):
    """Each place whose second verdict is wrong."""
    for p, r in Scan(folder, out).pairs:
        if r["second_verdict"] not in wanted(p):
            yield (f"{r['trace']} {r['channel']} at {r['angle_deg']} deg {r['axial_mm']} mm: eta "
                   f"{p['eta']:.3f} sleeve {p['sleeve']:.2f} wall {p['wall_mm']:.3f}; raw {r['verdict']} "
                   f"{r['thickness_mm']} {r['indication_depth_mm']} {r['indication_db']} odds "
                   f"{r['evidence_ratio']} {r['reason']}; second {r['second_verdict']} {r['context']}")


def main():
    p = argparse.ArgumentParser(description=__doc__.split("\n", maxsplit=1)[0])
    p.add_argument("--plyecho", default="plyecho", metavar="PATH")
    p.add_argument("--results", default=None, metavar="DIR", help="instead of a run of its own")
    p.add_argument("--show-wrong", action="store_true")
    p.add_argument("--keep", default=None, metavar="DIR", help="write the results here, and leave them")
    p.add_argument("folder", nargs="+")
    opt = p.parse_args()
    failed = 0
    for folder in opt.folder:
        with tempfile.TemporaryDirectory() as work:
            out = opt.results or opt.keep or os.path.join(work, "out")
            if not opt.results:
                run_scan(opt.plyecho, folder, out)
            print(folder)
            for holds, line in score(folder, out):
                failed += not holds
                print("  ok  " if holds else "  FAIL", line)
            for line in show_wrong(folder, out) if opt.show_wrong else []:
                print("    ", line)
    return failed > 0


if __name__ == "__main__":
    sys.exit(main())

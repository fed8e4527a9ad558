#!/usr/bin/python3
"""What a user's own script reaches: filter, envelope, peaks, a few rules.

    scipy_baseline.py --set DIR [--show-wrong]

The same sets and the same scoring as for the program, for comparison.
"""

import argparse
import os
import sys

import numpy as np
from scipy.signal import butter, find_peaks, hilbert, sosfiltfilt

import score_set


def judge(time_us, wave, velocity, nominal, attenuation, centre=10.0):
    """A verdict from the envelope's peaks; speeds in mm/us, lengths in mm."""
    band = np.array([0.4, 1.8]) * centre
    sos = butter(2, band, "bandpass", fs=1 / np.mean(np.diff(time_us)), output="sos")
    env = np.abs(hilbert(sosfiltfilt(sos, wave)))
    env[time_us < 4.0] = 0.0                        # the initial pulse
    noise = np.median(env[time_us > 4.0])
    peaks, _ = find_peaks(env, height=0.1 * env.max(), distance=12)
    if len(peaks) == 0:
        return {"verdict": "unreadable"}
    strong = peaks[env[peaks] > 0.15 * env.max()]
    front = strong[0]

    def depth(i):
        return 0.5 * velocity * (time_us[i] - time_us[front])

    def level(i):                                   # attenuation taken back
        return env[i] * 10 ** (attenuation * centre * 2 * depth(i) / 20)
    wall = [i for i in peaks if i > front and depth(i) < 1.1 * nominal]
    back = [i for i in wall if depth(i) > 0.7 * nominal]
    inner = [i for i in wall if 0.15 * nominal < depth(i) < 0.7 * nominal
             and env[i] > max(0.2 * env[front], 5 * noise)]
    if not wall:
        return {"verdict": "unreadable" if len(strong) < 2 else "attenuated"}
    if not back:
        return {"verdict": "delamination" if inner else "attenuated",
                "indication_depth_mm": depth(max(inner or wall, key=level))}
    last = max(back, key=lambda i: env[i])
    found = {"thickness_mm": depth(last)}
    if inner:
        best = max(inner, key=level)
        found["indication_depth_mm"] = depth(best)
        gap = level(best) > 0.35 * level(last)
        return {"verdict": "delamination" if gap else "inner-echo", **found}
    if level(last) < 2.0 * env[front]:              # a step of 0.2 in front, halved
        return {"verdict": "attenuated", **found}
    return {"verdict": "thin" if depth(last) < 0.9 * nominal else "no-indication", **found}


def answer(folder, row):
    """The script's answer for one trace, as the program would give it."""
    time_us, wave = np.loadtxt(os.path.join(folder, row["trace"]), delimiter=",",
                               skiprows=5, unpack=True)
    centre = 5.0 if float(row["centre_mhz"]) < 7.5 else 10.0
    found = judge(time_us, wave, float(row["velocity_m_s"]) / 1e3,
                  float(row["nominal_mm"]), float(row["attenuation_db_mm_mhz"]), centre)
    return {"thickness_u_mm": "", **{k: str(v) for k, v in found.items()},
            "indication_depth_mm": str(found.get("indication_depth_mm", ""))}


def main():
    p = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    p.add_argument("--set", required=True, metavar="DIR")
    p.add_argument("--show-wrong", action="store_true")
    opt = p.parse_args()
    rows = score_set.read_truth(opt.set)
    score_set.report(rows, [answer(opt.set, r) for r in rows], 0.0, opt.show_wrong)


if __name__ == "__main__":
    sys.exit(main())

"""Walls of the simulated sets with their layers declared, and what plyecho makes of them.

    layer_cases.py --plyecho PATH --set hard --only interface --count 40 [--with-pulse]

prints how many layers' thicknesses lie within two standard uncertainties of the
truth, and how many walls are flagged.  The user is told each layer's thickness
to 3 %, its velocity to 10 m/s and its impedance to 1 %.
"""

import argparse
import json
import os
import subprocess
import sys
import tempfile

import numpy as np

import layered as ly
from independent_sim import SETS, make_trace, write_csv

THICKNESS_U, VELOCITY_U, IMPEDANCE_U = 0.03, 10.0, 0.01
NAMES = {2: ("carbon", "sleeve"), 3: ("carbon", "glue", "sleeve")}


def lie(rng, value, u):
    """What a user knows: the truth and an error of that standard deviation."""
    return value + u * np.clip(rng.standard_normal(), -3, 3)


def declare(rng, sections, impedances=True, thickness_factor=1.0):
    """The --layers of a wall."""
    layers = []
    for name, (d, z, sound) in zip(NAMES[len(sections)], sections):
        d_mm = 1e3 * lie(rng, d * thickness_factor, THICKNESS_U * d)
        words = [f"{name} = {d_mm:.4f} mm", f"u {1e3 * THICKNESS_U * d:.4f} mm",
                 f"{lie(rng, sound.velocity, VELOCITY_U):.1f} m/s", f"u {VELOCITY_U} m/s",
                 f"{ly.db_from_loss(sound.loss):.4f} dB/mm/MHz"]
        if impedances:
            words.append(f"{1e-6 * lie(rng, z, IMPEDANCE_U * z):.4f} MRayl")
        layers.append(", ".join(words))
    return "; ".join(layers)


def judge(program, folder, truth, layers, with_pulse, more=()):
    """The program's answer on the trace and pulse in the folder, as a dict."""
    words = [program, "assess", "--format", "json", "--layers", layers, *more]
    if with_pulse:
        words += ["--pulse", os.path.join(folder, "pulse.csv")]
    run = subprocess.run(words + [os.path.join(folder, "trace.csv")], check=False,
                         capture_output=True, text=True, timeout=60)
    if run.returncode not in (0, 1):
        raise RuntimeError(f"status {run.returncode}: {run.stderr}")
    answer = json.loads(run.stdout)
    answer["status"] = run.returncode
    answer["truth"] = truth
    return answer


def answers(program, set_name, only, count, snr, with_pulse, seed=5, impedances=True,
            thickness_factor=1.0, told_as=None):
    """Answers for `count` walls of a class.  told_as changes what is declared."""
    with tempfile.TemporaryDirectory() as folder:
        for i in range(1, count + 1):
            truth, trace, pulse = make_trace(seed, i, snr, set_name, only=only)
            write_csv(os.path.join(folder, "trace.csv"), trace, truth["start_us"])
            write_csv(os.path.join(folder, "pulse.csv"), pulse, truth["start_us"],
                      [("reference_reflection", "-1")])
            rng = np.random.default_rng([seed, i, 99])
            sections = truth["sections"]
            if told_as:
                sections = told_as(sections)
            layers = declare(rng, sections, impedances, thickness_factor)
            yield judge(program, folder, truth, layers, with_pulse)


def errors(answer):
    """Error over u of each layer that was measured, by its name."""
    out = {}
    for layer, (d, _, _) in zip(answer["layers"], answer["truth"]["sections"]):
        if layer["thickness_mm"] is not None:
            out[layer["name"]] = ((layer["thickness_mm"] - 1e3 * d),
                                  layer["thickness_u_mm"])
    return out


def summarise(found):
    """Lines of figures over a list of answers."""
    measured = [errors(a) for a in found]
    bonded = [a for a in found if a["verdict"] == "inner-echo"]
    yield (f"{len(found)} walls, {len(bonded)} inner-echo, of these "
           f"{sum(a['flagged'] for a in bonded)} flagged; parted "
           f"{sum(len(m) >= 2 for m in measured)}")
    for name in ("carbon", "sleeve"):
        e = np.array([m[name] for m in measured if name in m]).reshape(-1, 2)
        if len(e):
            z = np.abs(e[:, 0]) / e[:, 1]
            yield (f"  {name}: n {len(e)}, rms error {1e3 * np.sqrt(np.mean(e[:, 0] ** 2)):.1f} um, "
                   f"bias {1e3 * np.mean(e[:, 0]):.1f} um, rms u "
                   f"{1e3 * np.sqrt(np.mean(e[:, 1] ** 2)):.1f} um, within 2 u "
                   f"{np.mean(z < 2):.2f}, worst {z.max():.1f} u")
    wall = np.array([(a["thickness_mm"] - a["truth"]["thickness_mm"], a["thickness_u_mm"])
                     for a in found if a["thickness_mm"] is not None])
    if len(wall):
        yield (f"  wall: n {len(wall)}, rms error "
               f"{1e3 * np.sqrt(np.mean(wall[:, 0] ** 2)):.1f} um, rms u "
               f"{1e3 * np.sqrt(np.mean(wall[:, 1] ** 2)):.1f} um, within 2 u "
               f"{np.mean(np.abs(wall[:, 0]) < 2 * wall[:, 1]):.2f}")


def main():
    p = argparse.ArgumentParser(description=__doc__.split("\n", maxsplit=1)[0])
    p.add_argument("--plyecho", default="plyecho", metavar="PATH")
    p.add_argument("--set", choices=sorted(SETS), default="hard")
    p.add_argument("--only", default="interface")
    p.add_argument("--count", type=int, default=40)
    p.add_argument("--snr", type=float, default=34.0, metavar="DB")
    p.add_argument("--seed", type=int, default=5)
    p.add_argument("--with-pulse", action="store_true")
    p.add_argument("--no-impedances", action="store_true")
    p.add_argument("--show", action="store_true")
    opt = p.parse_args()
    found = list(answers(opt.plyecho, opt.set, opt.only, opt.count, opt.snr,
                         opt.with_pulse, opt.seed, not opt.no_impedances))
    print("\n".join(summarise(found)))
    for a in found if opt.show else []:
        t = a["truth"]
        print(a["verdict"], a["flagged"], f"R {t['reflection']:.3f}", errors(a),
              f"glue {t['glue_um']:.0f} bw {t['bandwidth']:.2f} {t['ring']}",
              [l for l in a["words"].split("\n") if "Interface" in l or "lagged" in l])


if __name__ == "__main__":
    sys.exit(main())

#!/usr/bin/python3
"""Print how strong the wanted and unwanted echoes of a simulated set are.

    measure_levels.py [--set plain] [--count 200] [--seed 1]

Levels are envelope peaks against a full reflector at that depth, the stated
attenuation taken back, without noise.  They say from which level on an echo
inside can be told from the laminate's own.
"""

import argparse

import numpy as np

import independent_sim as sim
import layered as ly

EDGE = 0.5e-6            # s kept away from the front and the back wall


def envelope(spectrum, omega):
    """Magnitude of the analytic signal, the line's end at 5 us."""
    both = np.zeros(ly.FFT_LENGTH, complex)
    both[:len(spectrum)] = 2 * spectrum * np.exp(-1j * omega * 5e-6)
    return np.abs(np.fft.ifft(both))


def levels(case, setup, front, gamma, truth):
    """The level against time from the front, and the time axis."""
    env = envelope(setup.pulse.spectrum * (gamma - front), setup.omega)
    whole = envelope(setup.pulse.spectrum, setup.omega)
    env = env / whole.max()
    peak = int(np.argmax(whole))
    t = np.arange(len(env) - peak) / ly.SAMPLE_RATE_HZ
    mm = 0.5e3 * t * truth["true_velocity_m_s"]
    db = truth["attenuation_db_mm_mhz"] * truth["centre_mhz"] * 2 * mm
    return t, env[peak:] * 10 ** (db / 20) / (1 - front ** 2)


def one(name, seed, index, set_name):
    """(largest between the edges, at the indication, at the back wall, front dB)."""
    rng = np.random.default_rng([seed, index])
    setup = sim.make_setup(rng, sim.SETS[set_name])
    case = {c.__name__: c for c, _ in setup.set.classes}[name](rng, setup, sim.defaults())
    front, gamma = sim.reflect(case, setup, 0.0)
    truth = sim.describe(rng, case, setup, front)
    t, level = levels(case, setup, front, gamma, truth)
    coat = case.paths[0][1][0]
    start = 0.0 if np.isnan(case.coat) else 2 * coat.thickness / coat.velocity
    back = start + 2 * case.thickness / truth["true_velocity_m_s"]

    def largest(a, b):
        part = level[(t > a) & (t < b)]
        return part.max() if len(part) else np.nan
    depth = start + 2 * case.depth / truth["true_velocity_m_s"]
    against = abs(front) / (sim.rf_peak(gamma, setup) + 1e-9)
    return (largest(start + EDGE, back - EDGE), largest(depth - 0.05e-6, depth + 0.05e-6),
            largest(back - 0.05e-6, back + 0.05e-6), 20 * np.log10(against))


def show(label, values):
    """A line of quantiles."""
    q = np.nanquantile(values, [0.01, 0.1, 0.5, 0.9, 0.99, 1.0])
    print(f"{label:44s}" + "".join(f"{x:9.3f}" for x in q))


def main():
    p = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    p.add_argument("--set", choices=sorted(sim.SETS), default="plain")
    p.add_argument("--count", type=int, default=200)
    p.add_argument("--seed", type=int, default=1)
    opt = p.parse_args()
    print(f"{'quantile':44s}" + "".join(f"{q:>9s}" for q in
                                        ("1 %", "10 %", "50 %", "90 %", "99 %", "100 %")))
    for build, _ in sim.SETS[opt.set].classes:
        got = np.array([one(build.__name__, opt.seed, i, opt.set)
                        for i in range(opt.count)])
        for label, column in (("largest inside", 0), ("at the indication", 1),
                              ("at the back wall", 2), ("front against largest echo, dB", 3)):
            if not np.all(np.isnan(got[:, column])):
                show(f"{build.__name__}: {label}", got[:, column])


if __name__ == "__main__":
    main()

"""plyecho calibrate on step sets made by an independent program, and its line against scipy.odr.

The steps are plates of known thickness in layered.py's model: all reverberations, attenuation
with its dispersion, a delay line (mode 2) or a wear face alone (mode 1).  A micrometer scatters
by u; noise is 40 dB below the echoes.  To reach: the velocity within 2 u in at least 10 of 12
sets, and within 0.25 % in all, the zero free.
"""

import json
import os
import subprocess
import sys
import tempfile

import numpy as np
from scipy import odr

import independent_sim as sim
import layered as ly
from wall_cases import make_setup

PROGRAM = "./plyecho"
STEPS_MM = (1.0, 1.5, 2.0, 3.0, 4.0, 5.0)
MICROMETER_U = 0.002     # mm
SNR_DB = 40.0
SETS = 12
failures = 0


def check(what, good):
    """Say what holds and what does not."""
    global failures
    failures += not good
    print(f"{'ok  ' if good else 'FAIL'} {what}")


def make_steps(folder, seed, contact=False, lossless=False):
    """Write a set of steps; the velocity that they have is returned."""
    rng = np.random.default_rng([2026, seed])
    setup = make_setup(rng, sim.SETS["plain"], contact)
    velocity = rng.uniform(2700, 3200)
    loss = 0.0 if lossless else ly.loss_from_db(rng.uniform(0.05, 0.15))
    impedance = rng.uniform(4.4e6, 4.9e6)
    front = (impedance - setup.line.impedance) / (impedance + setup.line.impedance)
    start = 0.0 if contact else round((setup.line.round_trip - 1e-6) * 1e9) * 1e-9
    rows = ["file,channel,thickness_mm,thickness_u_mm"]
    for i, mm in enumerate(STEPS_MM):
        real = mm + rng.uniform(-0.1, 0.1)
        wall = [ly.Layer(real * 1e-3, impedance, velocity, loss)]
        gamma = ly.reflection(wall, setup.line.impedance, ly.AIR, setup.omega, setup.omega0)
        if contact:
            gamma = gamma - front
        wave = 0.85 * ly.to_record(ly.chain(gamma, setup.pulse, setup.line, setup.omega,
                                            setup.omega0), setup.omega, start)
        if contact:      # the transmission pulse
            t = np.arange(ly.SAMPLES) / ly.SAMPLE_RATE_HZ
            wave = wave + 0.8 * np.exp(-t / 0.08e-6) * np.sin(2 * np.pi * 10e6 * t)
        peak = 0.85 * np.abs(np.fft.irfft(setup.pulse.spectrum * gamma * np.exp(
            -1j * setup.omega * 5e-6), ly.FFT_LENGTH)).max()
        name = f"step{i + 1}.csv"
        sim.write_csv(os.path.join(folder, name),
                      sim.digitise(wave, peak * 10 ** (-SNR_DB / 20), rng), start * 1e6,
                      [("full_scale", "1")])
        measured = real + MICROMETER_U * rng.standard_normal()
        rows.append(f"{name},1,{measured:.4f},{MICROMETER_U}")
    with open(os.path.join(folder, "steps.csv"), "w", encoding="ascii") as out:
        out.write("\n".join(rows) + "\n")
    return velocity, setup.line.round_trip, ly.db_from_loss(loss)


def calibrate(folder, *options):
    """The program's one JSON line, or None where it refuses."""
    run = subprocess.run([PROGRAM, "calibrate", "--quiet", "--steps",
                          os.path.join(folder, "steps.csv"), "--format", "json", *options],
                         capture_output=True, check=False, text=True)
    if run.returncode == 2:
        print("    " + run.stderr.strip())
        return None
    return json.loads(run.stdout)


def by_odr(row):
    """Slope and intercept of the same points by orthogonal distance regression."""
    d, u, t, tu = (np.array([s[k] for s in row["steps"]]) for k in (
        "thickness_mm", "thickness_u_mm", "time_us", "time_u_us"))
    fit = odr.ODR(odr.RealData(t, d, sx=tu, sy=u), odr.Model(lambda b, x: b[0] + b[1] * x),
                  beta0=np.polyfit(t, d, 1)[::-1], maxit=500, sstol=1e-15, partol=1e-15).run()
    slope, start = fit.beta[1], fit.beta[0]
    return 2e3 * slope, -start / slope, 2e3 * fit.sd_beta[1] / np.sqrt(fit.res_var)


def try_sets(name, options, contact=False, tell_loss=True):
    """Twelve sets of one kind."""
    within, worst = 0, 0.0
    for seed in range(SETS):
        with tempfile.TemporaryDirectory() as folder:
            velocity, _, loss = make_steps(folder, seed, contact)
            told = ["--attenuation", f"{loss:.4g}"] if tell_loss else []
            row = calibrate(folder, *options, *told)
        if row is None:
            worst = np.inf
            continue
        off = row["velocity_m_s"] - velocity
        within += abs(off) <= 2 * row["velocity_u_m_s"]
        worst = max(worst, abs(off) / velocity)
        print(f"    {name} {seed}: off by {off:+.2f} m/s, u {row['velocity_u_m_s']:.2f}, "
              f"zero {row['zero_us']:.4f} us, {row['warnings']}")
    check(f"{name}: {within} of {SETS} velocities within 2 u (at least 10)", within >= 10)
    check(f"{name}: farthest off by {100 * worst:.3f} % (at most 0.25)", worst <= 0.0025)


def against_odr():
    """The program's line is SciPy's."""
    with tempfile.TemporaryDirectory() as folder:
        make_steps(folder, 3)
        row = calibrate(folder, "--mode", "2", "--zero", "free")
        line = by_odr(row)
    scatter = max(1.0, np.sqrt(row["chi2"] / row["freedom"]))
    check(f"velocity {row['velocity_m_s']:.4f} m/s as scipy.odr, {line[0]:.4f}",
          abs(row["velocity_m_s"] / line[0] - 1) < 1e-7)
    check(f"zero {row['zero_us']:.6f} us as scipy.odr, {line[1]:.6f}",
          abs(row["zero_us"] - line[1]) < 1e-6)
    check(f"u {row['velocity_u_m_s']:.4f} m/s as scipy.odr, {scatter * line[2]:.4f}",
          abs(row["velocity_u_m_s"] / (scatter * line[2]) - 1) < 1e-2)


def by_multiples(name, options, contact=False):
    """Thicknesses stated twice, as where the first multiple is taken for the back wall."""
    accepted = 0
    for seed in range(SETS):
        with tempfile.TemporaryDirectory() as folder:
            make_steps(folder, seed, contact)
            path = os.path.join(folder, "steps.csv")
            with open(path, encoding="ascii") as table:
                heading, *rows = table.read().splitlines()
            for i, row in enumerate(rows):
                cells = row.split(",")
                cells[2] = f"{2 * float(cells[2]):.4f}"
                rows[i] = ",".join(cells)
            with open(path, "w", encoding="ascii") as table:
                table.write("\n".join([heading, *rows]) + "\n")
            row = calibrate(folder, *options)
        accepted += row is not None and not row["flagged"]
    check(f"{name}: {accepted} of {SETS} sets with doubled thicknesses accepted (none)",
          accepted == 0)


def main():
    """All checks."""
    against_odr()
    try_sets("mode 2, zero free", ["--mode", "2", "--zero", "free"])
    try_sets("mode 2, loss not told", ["--mode", "2", "--zero", "free"], tell_loss=False)
    try_sets("mode 2, zero held", ["--mode", "2"])
    try_sets("mode 3", ["--mode", "3", "--zero", "free"])
    try_sets("mode auto", [])
    try_sets("mode 1 in contact", ["--mode", "1"], contact=True)
    try_sets("mode auto in contact", [], contact=True)
    by_multiples("mode auto", [])
    by_multiples("mode 1 in contact", ["--mode", "1"], contact=True)
    return 1 if failures else 0


if __name__ == "__main__":
    sys.exit(main())

"""Mode 1 on plates that lose and disperse, made by an independent program.

A contact probe on plates of known thickness, phase velocity and attenuation (layered.py: wave
matrices, attenuation proportional to frequency with the dispersion that causality asks for).
The zero is the time of the pulse's own envelope peak at the wall's front, so what is left is
the dispersion: a peak comes a v / pi^2 of the wall's time too early, to first order.  Told the
attenuation, the mean error must stay below a fifth of that, which is the standard uncertainty
that the program gives it; and with the attenuation told to be nothing, the error must be that
share to within a fifth, or the walls do not show what they are made for.
"""

import json
import os
import subprocess
import sys
import tempfile

import numpy as np
from scipy.signal import hilbert

import independent_sim as sim
import layered as ly

PROGRAM = "./plyecho"
SNR_DB = 50.0
WALLS = 24
failures = 0


def check(what, good):
    """Say what holds and what does not."""
    global failures
    failures += not good
    print(f"{'ok  ' if good else 'FAIL'} {what}")


def peak_delay(pulse, omega):
    """How long after its origin the pulse's envelope is highest, s."""
    late = 5e-6
    wave = np.fft.irfft(pulse.spectrum * np.exp(-1j * omega * late), ly.FFT_LENGTH)
    height = np.abs(hilbert(wave))
    i = int(np.argmax(height))
    a, b, c = height[i - 1:i + 2]
    return (i + 0.5 * (a - c) / (a - 2 * b + c)) / ly.SAMPLE_RATE_HZ - late


def read_wall(folder, rng, loss_db):
    """Errors in um of one plate, with the attenuation told and with none, and what theory says."""
    freq = ly.frequencies()
    omega = 2 * np.pi * freq
    pulse = ly.make_pulse("gauss", rng.uniform(9e6, 11e6), rng.uniform(0.5, 0.7),
                          rng.uniform(0, 2 * np.pi), freq)
    line = ly.DelayLine(8e6, rng.uniform(0.1e-6, 0.3e-6), 0.5e-3, 0.0, 0.0)
    mm, velocity = rng.uniform(2.5, 4.0), rng.uniform(2800, 3100)
    wall = [ly.Layer(mm * 1e-3, 4.65e6, velocity, ly.loss_from_db(loss_db))]
    omega0 = 2 * np.pi * pulse.centre_hz
    gamma = ly.reflection(wall, line.impedance, ly.AIR, omega, omega0)
    gamma = gamma - (4.65e6 - line.impedance) / (4.65e6 + line.impedance)
    wave = ly.to_record(ly.chain(gamma, pulse, line, omega, omega0), omega, 0.0)
    peak = np.abs(wave).max()
    t = np.arange(ly.SAMPLES) / ly.SAMPLE_RATE_HZ
    wave = 0.6 * wave / peak + 0.8 * np.exp(-t / 0.08e-6) * np.sin(2 * np.pi * 10e6 * t)
    path = os.path.join(folder, "plate.csv")
    sim.write_csv(path, sim.digitise(wave, 0.6 * 10 ** (-SNR_DB / 20), rng), 0.0,
                  [("full_scale", "1")])
    zero = 1e6 * (line.round_trip + peak_delay(pulse, omega))
    errors = []
    for told in (loss_db, 0.0):
        run = subprocess.run(
            [PROGRAM, "thickness", "--mode", "1", "--velocity", f"{velocity:.3f}",
             "--velocity-u", "0", "--zero", f"{zero:.6f}", "--zero-u", "0",
             "--nominal", f"{mm:.2f}", "--attenuation", f"{told:.5f}", "--format", "json", path],
            capture_output=True, check=True, text=True)
        row = json.loads(run.stdout)
        errors.append(1e3 * (row["thickness_mm"] - mm))
        if told:
            u = 1e3 * row["thickness_u_mm"]
    slope = ly.loss_from_db(loss_db) * 2 * np.pi       # Np per m and Hz
    return errors[0], errors[1], -1e3 * mm * slope * velocity / np.pi ** 2, u


def main():
    """All checks."""
    for loss_db in (0.05, 0.1, 0.2):
        rng = np.random.default_rng([1981, int(1000 * loss_db)])
        with tempfile.TemporaryDirectory() as folder:
            rows = np.array([read_wall(folder, rng, loss_db) for _ in range(WALLS)])
        told, nothing, theory, u = rows.T
        print(f"    {loss_db} dB/mm/MHz: mean error {told.mean():+.2f} um told, "
              f"{nothing.mean():+.2f} um with none told, theory {theory.mean():+.2f} um, "
              f"rms {np.sqrt((told ** 2).mean()):.2f} um, rms u {np.sqrt((u ** 2).mean()):.2f} um")
        check(f"{loss_db} dB/mm/MHz: mean error below a fifth of the dispersion's",
              abs(told.mean()) < 0.2 * abs(theory.mean()))
        check(f"{loss_db} dB/mm/MHz: without it the error is the dispersion's within a fifth",
              abs(nothing.mean() / theory.mean() - 1) < 0.2)
        check(f"{loss_db} dB/mm/MHz: {int((np.abs(told) < 2 * u).sum())} of {WALLS} within 2 u",
              (np.abs(told) < 2 * u).sum() >= 0.85 * WALLS)
    return 1 if failures else 0


if __name__ == "__main__":
    sys.exit(main())

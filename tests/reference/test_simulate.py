"""Simulated traces against SciPy's pulses and an independent layer model, run live."""

import subprocess
import sys

import numpy as np
from scipy import optimize, signal, stats

import layered

PROGRAM = "./plyecho"
RATE, SAMPLES, LONG = 100e6, 2048, 1 << 17
CENTRE, SHARE = 10e6, 0.6
LINE_M, LINE_V, LINE_Z = 10e-3, 2680.0, 1180.0 * 2680.0
AIR = 1.2041 * 343.2
failures = 0


def check(what, error, most):
    """Say how far we are from the reference; a NaN fails too."""
    global failures
    good = error <= most
    failures += not good
    print(f"{'ok  ' if good else 'FAIL'} {what}: {error:.3g} (at most {most:g})")


def simulate(*words):
    """Samples and labels of one trace."""
    run = subprocess.run([PROGRAM, "simulate", "--to", "csv", "--full-scale", "9", *words],
                         capture_output=True, check=True, text=True)
    lines = run.stdout.splitlines()
    labels = dict(l[2:].split(": ", 1) for l in lines if l.startswith("# "))
    rows = [l for l in lines if not l.startswith("#")][1:]
    return np.array([float(r.split(",")[1]) for r in rows]), labels


def pulse_times(tail):
    """Rise and fall time of a pulse of the stated band: |E| is one half at the band's edge."""
    if tail == 0:
        return np.sqrt(2 * np.log(2)) / (np.pi * SHARE * CENTRE), 0.0
    half = optimize.brentq(
        lambda x: np.exp(-x * x / 2) / np.hypot(1, tail * x) - 0.5, 1e-3, 2)
    rise = half / (np.pi * SHARE * CENTRE)
    return rise, tail * rise


def pulse(tail, t):
    """The pulse by SciPy: gausspulse, or the density of an exponentially modified Gaussian."""
    if tail == 0:
        return signal.gausspulse(t, CENTRE, SHARE, bwr=20 * np.log10(0.5))
    rise, _ = pulse_times(tail)
    top = optimize.minimize_scalar(lambda x: -stats.exponnorm.pdf(x, tail, scale=rise),
                                   bounds=(0, 10 * rise), method="bounded",
                                   options={"xatol": 1e-13})
    envelope = stats.exponnorm.pdf(t + top.x, tail, scale=rise) / -top.fun
    return envelope * np.cos(2 * np.pi * CENTRE * t)


def expected(tail, gamma_of, repeat):
    """The trace by the independent model, with a transform so long that nothing wraps."""
    omega = 2 * np.pi * layered.frequencies(LONG, RATE)
    n = np.arange(LONG)
    around_zero = np.where(n < LONG // 2, n, n - LONG) / RATE
    spectrum = np.fft.rfft(pulse(tail, around_zero))
    line = layered.DelayLine(LINE_Z, 2 * LINE_M / LINE_V, LINE_M,
                             layered.loss_from_db(0.1), repeat)
    sent = layered.Pulse(spectrum, "", CENTRE, SHARE, 0.0)
    whole = layered.chain(gamma_of(omega), sent, line, omega, 2 * np.pi * CENTRE)
    return layered.to_record(whole, omega, 0.0, SAMPLES, LONG)


def gamma(layers, behind=AIR):
    return lambda omega: layered.reflection(layers, LINE_Z, behind, omega, 2 * np.pi * CENTRE)


def mixed(cover, gap, rest):
    return lambda omega: cover * gap(omega) + (1 - cover) * rest(omega)


def layer(mm, z, v, db):
    return layered.Layer(mm * 1e-3, z, v, layered.loss_from_db(db))


CARBON = (1576.0 * 2950, 2950.0, 0.1)
GLASS = (1900.0 * 2790, 2790.0, 0.1)
EPOXY = (1140.0 * 2770, 2770.0, 0.3)
FILLER = (1500.0 * 2400, 2400.0, 0.4)
WATER = (998.2 * 1482.38, 1482.38, 0.0)

ply = layer((3.2 - 15 * 0.005) / 16, *CARBON)
plies = [ply] + [layer(0.005, *EPOXY), ply] * 15
sleeve = [layer(3.2, *CARBON), layer(0.12, *EPOXY), layer(1.1, *GLASS)]

CASES = [
    ("the line's end in air", ["--uncoupled"], gamma([])),
    ("a wall", ["--layer", "carbon:3.2"], gamma([layer(3.2, *CARBON)])),
    ("a thin wall in numbers", ["--layer", "z=4.65,v=2950,a=0.15,d=0.4"],
     gamma([layer(0.4, 4.65e6, 2950.0, 0.15)])),
    ("a bonded sleeve", ["--layer", "carbon:3.2", "--layer", "epoxy:0.12", "--layer", "glass:1.1"],
     gamma(sleeve)),
    ("water behind", ["--layer", "carbon:3.2", "--behind", "water"],
     gamma([layer(3.2, *CARBON)], WATER[0])),
    ("a coat", ["--layer", "carbon:3.2", "--coat", "filler:0.3"],
     gamma([layer(0.3, *FILLER), layer(3.2, *CARBON)])),
    ("plies", ["--layer", "carbon:3.2,plies=16,film=0.005"], gamma(plies)),
    ("a gap over 0.3", ["--layer", "carbon:3.2", "--gap-depth", "1.2", "--cover", "0.3"],
     mixed(0.3, gamma([layer(1.2, *CARBON)]), gamma([layer(3.2, *CARBON)]))),
    ("a wet gap", ["--layer", "carbon:3.2", "--gap-depth", "1.2", "--gap-fill", "water:0.01"],
     gamma([layer(1.2, *CARBON), layer(0.01, *WATER), layer(2.0, *CARBON)])),
]

for tail in (0, 2):
    for repeat in (0.0, 0.5):
        for name, words, reflection in CASES:
            got, labels = simulate("--level", "1", "--delay-line", "pmma:10", "--probe", "10M:0.6",
                                   "--tail", str(tail), "--line-repeat", str(repeat), *words)
            error = np.abs(got - expected(tail, reflection, repeat)).max()
            check(f"{name}, tail {tail}, repeat {repeat}", error, 1e-6)

# The velocity that the labels give: phase through the plies at the centre frequency.
omega = 2 * np.pi * np.linspace(1e3, CENTRE, 20001)
through = layered.transmission(plies, ply.impedance, omega, 2 * np.pi * CENTRE)
phase = -np.unwrap(np.angle(through))[-1]
_, labels = simulate("--delay-line", "pmma:10", "--layer", "carbon:3.2,plies=16,film=0.005")
velocity = 2 * np.pi * CENTRE * 3.2e-3 / phase
check("velocity of plies, m/s", abs(float(labels["truth_velocity_m_s"]) - velocity), 1e-3)
check("time of flight, us",
      abs(float(labels["truth_tof_us"]) - 2 * phase / (2 * np.pi * CENTRE) * 1e6), 1e-6)

sys.exit(failures > 0)

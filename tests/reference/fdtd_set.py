#!/usr/bin/python3
"""Sets of pulse-echo traces by finite differences in time, for score_set.py.

    fdtd_set.py --set hard --count 300 --snr 34 --seed 1 --out DIR

The wall's response is computed by fdtd_lossy.py, walls come from fdtd_walls.py, and
probes, delay lines and disturbances are drawn here: nothing but the files' layout is
shared with independent_sim.py.  Trace number i of a seed does not depend on the count.
A wall costs about 0.2 s.
"""

import argparse
import csv
import os
from dataclasses import dataclass

import numpy as np
from scipy import signal

import fdtd_lossy as fd
import fdtd_walls as walls
from independent_sim import TRUTH, cell, write_csv

RATE, SAMPLES = 100e6, 2048
LENGTH = 1 << 15                           # at 1 / fd.STEP: nothing wraps round
HZ = np.fft.rfftfreq(LENGTH, fd.STEP)
JW = 2j * np.pi * HZ
HIGHEST = 45e6                             # the spike says nothing above
ADC = 2.0 / 4096
PLIES = (0.185e-3, 0.215e-3)               # "about 0.2 mm"
BATCH = 12                                 # walls marched at once
RECORD = int(round(20.6e-6 / fd.STEP))


# --- probe and line --------------------------------------------------------------

@dataclass
class Probe:
    """A probe's pulse, of peak 1, and what its delay line does."""
    spectrum: np.ndarray
    family: str
    centre_hz: float
    bandwidth: float
    phase: float
    line_impedance: float
    trip: float
    repeat: float                          # of the line's echo at the probe's face
    line_lag: float                        # time constant of the line's loss


def limits(level):
    """The -6 dB limits about the highest line."""
    top = int(np.argmax(level))
    low = np.nonzero(level[:top] < 0.5 * level[top])[0]
    high = np.nonzero(level[top:] < 0.5 * level[top])[0]
    return HZ[low[-1]], HZ[top + high[0]]


def family_spectrum(rng, family, hz):
    """Spectra as other authors write them, unscaled."""
    width = rng.uniform(0.42, 0.85)
    if family == "butter":                 # a damped resonator: minimum phase
        order = int(rng.integers(2, 4))
        b, a = signal.butter(order, [2 * np.pi * hz * (1 - width / 2),
                                     2 * np.pi * hz * (1 + width / 2)], "band", analog=True)
        return np.polyval(b, JW) / np.polyval(a, JW)
    if family == "burst":                  # a raised cosine over some periods
        n = int(round(rng.uniform(1.6, 3.2) / hz / fd.STEP))
        t = np.arange(n) * fd.STEP
        wave = np.hanning(n) * np.sin(2 * np.pi * hz * t)
        return np.fft.rfft(wave, LENGTH) * np.exp(JW * n * fd.STEP / 2)
    sigma = width / 2.4                    # Gaussian in the logarithm of frequency
    level = np.exp(-0.5 * (np.log(np.maximum(HZ, 1e3) / hz) / sigma) ** 2)
    if family == "ringing":                # a second, slower mode behind it
        slow = rng.uniform(0.15, 0.35) / (1 + (JW + 2j * np.pi * hz * rng.uniform(0.85, 1.15))
                                          * rng.uniform(0.15e-6, 0.35e-6) * 5e6 / hz)
        slow = slow + 0.3 * level
        level = level * (1 + slow * np.exp(-JW * 0.5 / hz))
    return level.astype(complex)


def draw_probe(rng, carrier):
    """A probe of 0.45 to 0.8 relative bandwidth on a plastic delay line."""
    family = str(rng.choice(["butter", "burst", "log", "ringing"], p=[0.3, 0.2, 0.25, 0.25]))
    while True:
        spectrum = family_spectrum(rng, family, carrier * rng.uniform(0.95, 1.05))
        phase = 0.0 if rng.random() < 0.3 else rng.uniform(0, 2 * np.pi)
        high_pass = JW / (JW + 2 * np.pi * 0.1 * carrier)
        spectrum = spectrum * np.exp(1j * phase) * high_pass * (HZ < HIGHEST)
        low, high = limits(np.abs(spectrum))
        centre, band = 0.5 * (low + high), 2 * (high - low) / (high + low)
        if 0.45 <= band <= 0.8 and 0.93 < centre / carrier < 1.07:
            break
    spectrum = spectrum / np.abs(np.fft.irfft(spectrum * np.exp(-JW * 5e-6))).max()
    trip = rng.uniform(6e-6, 12e-6)
    return Probe(spectrum, family, centre, band, phase, rng.uniform(2.4e6, 3.3e6), trip,
                 rng.uniform(0.1, 0.45) * rng.choice([1, -1]), rng.uniform(2e-9, 12e-9))


# --- what a record holds -----------------------------------------------------------

def transfer(rows, steps):
    """Spectra of what a spike makes, over the spike's own."""
    with np.errstate(divide="ignore", invalid="ignore"):
        out = np.fft.rfft(rows, LENGTH) / np.fft.rfft(fd.spike(steps), LENGTH)
    return np.where(HZ < HIGHEST, out, 0.0)


def echoes(probe, gamma, trip, start):
    """The line's echo and its repeats as a record from `start` on, peak 1 off air."""
    once = np.exp(-JW * trip)
    whole, turn = 0.0, probe.spectrum * once * gamma
    for _ in range(4):
        whole = whole + turn
        turn = turn * probe.repeat / (1 + JW * probe.line_lag) * once * gamma
    fine = np.fft.irfft(whole * np.exp(JW * start), LENGTH)
    return fine[::int(round(1 / RATE / fd.STEP))][:SAMPLES]


def peak(probe, gamma):
    """Largest excursion of the wall's own echoes."""
    return np.abs(np.fft.irfft(probe.spectrum * gamma * np.exp(-JW * 2e-6), LENGTH)).max()


def disturbance(rng, probe, start, wanted):
    """Initial pulse with two decays, and a drift: a cubic and a slow hum."""
    t = start + np.arange(SAMPLES) / RATE
    turn = 2 * np.pi * probe.centre_hz * t
    out = rng.uniform(0.5, 3) * np.exp(-t / rng.uniform(0.1e-6, 0.25e-6)) \
        * np.cos(rng.uniform(0.7, 1.1) * turn)
    tau = rng.uniform(0.8e-6, 2.5e-6)
    tail = wanted * 10 ** rng.uniform(-3.3, -1.8)
    out = out + np.exp(-t / tau) * min(0.6, tail * np.exp(probe.trip / tau)) \
        * np.cos(rng.uniform(0.1, 0.9) * turn + rng.uniform(0, 6))
    x = np.linspace(-1, 1, SAMPLES)
    drift = np.polyval(rng.standard_normal(4), x) / 2 \
        + 0.5 * np.sin(rng.uniform(1, 5) * x + rng.uniform(0, 6))
    return out + wanted * rng.uniform(0.003, 0.03) * drift


def digitise(wave, noise, rng):
    """White noise and 12 bits."""
    return np.clip(np.round((wave + noise * rng.standard_normal(SAMPLES)) / ADC) * ADC,
                   -1.0, 1.0 - ADC)


# --- one trace -----------------------------------------------------------------------

@dataclass
class Draft:
    """A trace before its waves are marched."""
    index: int
    rng: np.random.Generator
    probe: Probe
    wall: walls.Wall


def draft(seed, index, name, only=None, plies=PLIES):
    """Draw probe and wall of one trace."""
    rng = np.random.default_rng([2718, seed, index])
    carrier, span, cover, step, classes = walls.SETS[name]
    probe = draw_probe(rng, carrier)
    build = rng.choice([c for c, _ in classes], p=[p for _, p in classes])
    if only:
        build = {c.__name__: c for c, _ in classes}[only]
    few = slice(0, int(30e6 / HZ[1]), 4)   # lines enough for an envelope's peak
    kit = walls.Kit(probe.centre_hz, span, cover, step, plies, HZ[few], probe.spectrum[few])
    return Draft(index, rng, probe, build(rng, kit))


def respond(drafts):
    """Reflection of each wall; velocity and loss of what its user knows."""
    rows = [fd.Stack(d.probe.line_impedance, slabs)
            for d in drafts for _, slabs in d.wall.shares]
    back = iter(transfer(fd.march(rows, RECORD)[0], RECORD))
    gammas = [sum(share * next(back) for share, _ in d.wall.shares) for d in drafts]
    known = [fd.Stack(d.wall.told[0].solid.impedance, d.wall.told,
                      d.wall.told[0].solid.impedance) for d in drafts]
    steps = int(round(8e-6 / fd.STEP))
    through = transfer(fd.march(known, steps)[1], steps)
    return [(g, *told(d, t * k.above)) for d, g, t, k in zip(drafts, gammas, through, known)]


def told(d, through):
    """Phase velocity at the centre frequency, and loss over the band in dB/mm/MHz."""
    depth = sum(s.thickness for s in d.wall.told)
    use = HZ < HIGHEST / 2
    hz, turn = HZ[use], -np.unwrap(np.angle(through[use]))    # from 0 Hz on: no turn is lost
    near = np.abs(hz / d.probe.centre_hz - 1) < 0.1
    line = np.polynomial.Polynomial.fit(hz[near], turn[near], 2)(d.probe.centre_hz)
    weight = np.abs(d.probe.spectrum[use]) ** 2
    loss = np.sum(weight * -np.log(np.abs(through[use])) * hz) / np.sum(weight * hz ** 2)
    return 2 * np.pi * d.probe.centre_hz * depth / line, loss * fd.DB / depth * 1e3


def finish(d, gamma, velocity, loss, snr_db):
    """The record of one trace and its reference: (truth, trace, pulse, labels of both)."""
    rng, probe, w = d.rng, d.probe, d.wall
    first = w.shares[0][1][0].solid.impedance
    front = (first - probe.line_impedance) / (first + probe.line_impedance)
    front_db = rng.standard_normal()
    g = 10 ** (front_db / 40)
    if w.coupled:
        gamma = g * front + (gamma - front) / g
    scale = str(rng.choice(["same", "gain", "none"], p=[0.5, 0.3, 0.2]))
    reference = rng.uniform(0.6, 0.95)
    more_db = 0.0
    if scale != "same" and w.coupled:      # the part is looked at with more gain
        more_db = float(np.floor(20 * np.log10(0.85 / (reference * peak(probe, gamma)))))
    level = reference * 10 ** (more_db / 20)
    wanted = level * peak(probe, gamma)
    noise = wanted * 10 ** (-snr_db / 20)
    start = 0.0
    if rng.random() < 0.5:
        start = round((probe.trip - rng.uniform(0.7e-6, 2.5e-6)) * 1e8) * 1e-8
    trace = digitise(level * echoes(probe, gamma, probe.trip, start)
                     + disturbance(rng, probe, start, wanted), noise, rng)
    pulse = digitise(reference * echoes(probe, -np.ones(len(HZ)),
                                        probe.trip + rng.uniform(-10e-9, 10e-9), start)
                     + disturbance(rng, probe, start, reference),
                     noise * 10 ** (-more_db / 20) / 4, rng)
    told_v = velocity + 10.0 * np.clip(rng.standard_normal(), -2.5, 2.5)
    truth = dict.fromkeys(TRUTH, np.nan) | {
        "trace": f"{d.index:04d}.csv", "pulse": f"{d.index:04d}-pulse.csv",
        "class": w.kind, "accept": w.accept, "thickness_mm": w.thickness * 1e3,
        "depth_mm": w.depth * 1e3, "cover": w.cover, "reflection": w.strength,
        "velocity_m_s": round(told_v, 1), "velocity_u_m_s": 10.0,
        "nominal_mm": round(w.nominal * 1e3, 2),
        "attenuation_db_mm_mhz": round(loss * (1 + 0.05 * rng.standard_normal()), 3),
        "true_velocity_m_s": velocity, "true_attenuation_db_mm_mhz": loss,
        "single_velocity_m_s": velocity, "snr_db": snr_db, "noise": noise,
        "front_reflection": front, "front_db": front_db, "extra_loss_db": w.extra_db,
        "front_us": probe.trip * 1e6, "start_us": start * 1e6,
        "centre_mhz": probe.centre_hz / 1e6, "bandwidth": probe.bandwidth,
        "ring": f"{probe.family}/{scale}", "phase_rad": probe.phase, "wanted_peak": wanted,
        "glue_um": w.glue * 1e6, "coat_um": w.coat * 1e6, "gap_um": w.gap * 1e6}
    return truth, trace, pulse, labels(scale, 20.0 + more_db), labels(scale, 20.0)


def labels(scale, gain_db):
    """The labels that tell a record's level, or none."""
    return {"same": [("full_scale", "1")], "none": [],
            "gain": [("full_scale", "1"), ("gain_db", f"{gain_db:g}")]}[scale]


def make(drafts, snr_db):
    """Finished traces of some drafts."""
    return [finish(d, *r, snr_db) for d, r in zip(drafts, respond(drafts))]


# --- files -----------------------------------------------------------------------------

def write_set(opt):
    """Make a whole set under opt.out."""
    os.makedirs(opt.out, exist_ok=True)
    with open(os.path.join(opt.out, "truth.csv"), "w", newline="", encoding="ascii") as f:
        table = csv.writer(f, lineterminator="\n")
        table.writerow(TRUTH)
        for first in range(1, opt.count + 1, BATCH):
            last = min(first + BATCH, opt.count + 1)
            drafts = [draft(opt.seed, i, opt.set, opt.only, [1e-3 * x for x in opt.plies])
                      for i in range(first, last)]
            for truth, trace, pulse, of_trace, of_pulse in make(drafts, opt.snr):
                at = truth["start_us"]
                write_csv(os.path.join(opt.out, truth["trace"]), trace, at, of_trace)
                write_csv(os.path.join(opt.out, truth["pulse"]), pulse, at, of_pulse)
                table.writerow([cell(truth[k]) for k in TRUTH])


def parser():
    """The command line."""
    p = argparse.ArgumentParser(description=__doc__.split("\n", maxsplit=1)[0])
    p.add_argument("--set", choices=sorted(walls.SETS), default="plain")
    p.add_argument("--count", type=int, default=300)
    p.add_argument("--snr", type=float, default=40.0, metavar="DB")
    p.add_argument("--seed", type=int, default=1)
    p.add_argument("--out", required=True, metavar="DIR")
    p.add_argument("--only", default=None, metavar="CLASS", help="one class alone")
    p.add_argument("--plies", type=float, nargs=2, metavar="MM",
                   default=[1e3 * x for x in PLIES],
                   help="thinnest and thickest ply; from 0.22 mm on they resonate within "
                   "the band of a broad 5 MHz probe")
    return p


if __name__ == "__main__":
    write_set(parser().parse_args())

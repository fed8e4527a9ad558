#!/usr/bin/python3
"""Sets of pulse-echo traces with their truth, made apart from libplyecho.

    independent_sim.py --set plain --count 300 --snr 40 --seed 1 --out DIR

writes DIR/NNNN.csv (or .wav), DIR/NNNN-pulse.csv (the same probe's delay line
with its end in air, at the same gain) and DIR/truth.csv.  Trace number i of a
seed does not depend on the count.  Materials and ranges are synthetic: common
practice, no source; the physics is in layered.py.
"""

import argparse
import csv
import os
import struct

import numpy as np

import layered as ly
from hard_cases import HARD
from wall_cases import PLAIN, PLATE, make_setup

VELOCITY_U = 10.0        # m/s: what the user knows the velocity to
ATTENUATION_U = 0.05     # relative error of the stated attenuation
JITTER_DB = 1.0          # front against back, standard deviation
REFERENCE_PEAK = 0.85    # of full scale, the delay line's end in air
STEP = 2.0 / 4096        # 12 bits over -1 to 1
SETS = {"plain": PLAIN, "hard": HARD, "plate": PLATE}

TRUTH = ["trace", "pulse", "class", "accept", "thickness_mm", "depth_mm", "cover",
         "reflection", "velocity_m_s", "velocity_u_m_s", "nominal_mm",
         "attenuation_db_mm_mhz", "true_velocity_m_s", "true_attenuation_db_mm_mhz",
         "single_velocity_m_s", "snr_db", "noise", "front_reflection", "front_db",
         "extra_loss_db", "front_us", "start_us", "centre_mhz", "bandwidth", "ring",
         "phase_rad", "wanted_peak", "glue_um", "coat_um", "gap_um",
         "zero_us", "bound_um"]


def reflect(case, setup, front_db):
    """Reflection at the delay line's end: front and inside, jittered apart."""
    above = setup.line.impedance
    first = case.paths[0][1][0].impedance
    front = (first - above) / (first + above)
    total = sum(share * ly.reflection(layers, above, end, setup.omega, setup.omega0)
                for share, layers, end in case.paths)
    g = 10 ** (front_db / 40)
    return front, g * front + (total - front) / g


def rf_peak(gamma, setup):
    """Largest excursion of the wanted echoes, without the line's repeats."""
    wave = np.fft.irfft(setup.pulse.spectrum * gamma
                        * np.exp(-1j * setup.omega * 5e-6), ly.FFT_LENGTH)
    return np.abs(wave).max()


def nuisance(rng, setup, start, wanted):
    """Initial pulse, its tail and the drift, apart from noise."""
    t = start + np.arange(ly.SAMPLES) / ly.SAMPLE_RATE_HZ
    trip, carrier = setup.line.round_trip, setup.pulse.centre_hz
    burst = (rng.choice([0.6, 2.0]) * np.exp(-t / 0.15e-6)
             * np.sin(2 * np.pi * carrier * t + rng.uniform(0, 6)))
    tau = rng.uniform(1e-6, 3e-6)
    at_front = wanted * 10 ** rng.uniform(-3, -1.7)
    tail = min(0.5, at_front * np.exp(trip / tau)) * np.exp(-t / tau)
    tail = tail * np.sin(2 * np.pi * carrier * rng.uniform(0.15, 1.0) * t
                         + rng.uniform(0, 6))
    x = np.linspace(0, 1, ly.SAMPLES)
    drift = (np.sin(2 * np.pi * rng.uniform(0.3, 1.5) * x + rng.uniform(0, 6))
             + rng.uniform(-1, 1) * x + rng.uniform(-0.3, 0.3))
    drift = drift * wanted * rng.uniform(0.005, 0.03)
    return burst + tail + drift


def digitise(wave, noise, rng):
    """White noise, then 12 bits with a full scale of 1."""
    noisy = wave + noise * rng.standard_normal(len(wave))
    return np.clip(np.round(noisy / STEP) * STEP, -1.0, 1.0 - STEP)


def bound(case, setup, front, noise, start):
    """Cramer-Rao bound of the thickness of a plate, in m.

    Unknown: start, transit, front reflection, loss, amplitude; the pulse is
    known (Kay, Fundamentals of Statistical Signal Processing: Estimation Theory;
    from memory).  Quantisation counts as white noise.
    """
    layer, above = case.paths[0][1][0], setup.line.impedance

    def wave(late, thickness, r, loss, amplitude):
        below = above * (1 + r) / (1 - r)
        wall = [layer._replace(thickness=thickness, impedance=below, loss=loss)]
        gamma = ly.reflection(wall, above, ly.AIR, setup.omega, setup.omega0)
        return amplitude * ly.to_record(ly.chain(
            gamma, setup.pulse, setup.line, setup.omega, setup.omega0,
            setup.line.round_trip + late), setup.omega, start)
    at = np.array([0.0, layer.thickness, front, 0.0, REFERENCE_PEAK])
    steps = np.array([1e-10, 1e-7, 1e-4, 1e-3 * ly.loss_from_db(0.1), 1e-3])
    jacobian = np.stack([(wave(*(at + h)) - wave(*(at - h))) / 2
                         for h in np.diag(steps)])
    fisher = jacobian @ jacobian.T / (noise ** 2 + STEP ** 2 / 12)
    return steps[1] * np.sqrt(np.linalg.inv(fisher)[1, 1])


def make_trace(seed, index, snr_db, set_name="plain", opt=None, only=None):
    """One trace.  Returns (truth, trace, pulse): a dict and two arrays."""
    opt = opt or defaults()
    rng = np.random.default_rng([seed, index])
    setup = make_setup(rng, SETS[set_name], opt.contact)
    classes, ideal = setup.set.classes, setup.set.ideal
    build = rng.choice([c for c, _ in classes], p=[p for _, p in classes])
    if only:
        build = {c.__name__: c for c, _ in classes}[only]
    case = build(rng, setup, opt)
    front_db = 0.0 if ideal else JITTER_DB * rng.standard_normal()
    front, gamma = reflect(case, setup, front_db)
    air = (ly.AIR - setup.line.impedance) / (ly.AIR + setup.line.impedance)
    if opt.contact:          # no echo of the front: the initial pulse is there
        gamma, air = gamma - front * 10 ** (front_db / 40), 0.0
    wanted = REFERENCE_PEAK * rf_peak(gamma, setup)
    noise = wanted * 10 ** (-snr_db / 20)
    if not case.coupled:
        gamma = np.full(gamma.shape, air, complex)
    start = 0.0
    if not opt.contact and (ideal or rng.random() < 0.5):
        start = round((setup.line.round_trip - rng.uniform(0.6e-6, 2e-6)) * 1e9) * 1e-9

    def shot(gamma, trip, noise):
        wave = REFERENCE_PEAK * ly.to_record(
            ly.chain(gamma, setup.pulse, setup.line, setup.omega, setup.omega0, trip),
            setup.omega, start)
        if not ideal:
            wave = wave + nuisance(rng, setup, start, wanted)
        return digitise(wave, noise, rng)
    trip = setup.line.round_trip
    trace = shot(gamma, trip, noise)
    # The reference is taken at another moment: the line's time has moved by
    # some nanoseconds, and sixteen shots are averaged.
    pulse = shot(np.full(gamma.shape, air, complex),
                 trip + 5e-9 * rng.standard_normal(), 0.0 if ideal else noise / 4)
    truth = describe(rng, case, setup, front)
    truth.update(trace=f"{index:04d}", pulse=f"{index:04d}-pulse", snr_db=snr_db,
                 noise=noise, front_db=front_db, start_us=start * 1e6,
                 wanted_peak=wanted, zero_us=np.nan, bound_um=np.nan)
    if opt.contact:
        truth.update(pulse="", zero_us=round(1e6 * trip + 2e-3 * rng.standard_normal(), 4))
    if ideal:
        truth["bound_um"] = 1e6 * bound(case, setup, front, noise, start)
    return truth, trace, pulse


def describe(rng, case, setup, front):
    """What is true of a case and what the user is told, as truth.csv has it."""
    args = (setup.pulse.spectrum, setup.omega, setup.omega0)
    true = ly.effective(case.sections, *args)
    stated = ly.effective(case.stated, *args) if case.stated else true
    exact = 0.0 if setup.set.ideal else 1.0
    told_v = true.velocity + exact * VELOCITY_U * np.clip(rng.standard_normal(), -3, 3)
    told_a = ly.db_from_loss(stated.loss) * (1 + ATTENUATION_U * rng.standard_normal())
    return {
        "class": case.kind, "accept": case.accept,
        "thickness_mm": case.thickness * 1e3, "depth_mm": case.depth * 1e3,
        "cover": case.cover, "reflection": case.strength,
        "velocity_m_s": round(told_v, 1) if exact else told_v,
        "velocity_u_m_s": exact * VELOCITY_U,
        "nominal_mm": round(case.nominal * 1e3, 3),
        "attenuation_db_mm_mhz": abs(round(told_a, 4)),
        "true_velocity_m_s": true.velocity,
        "true_attenuation_db_mm_mhz": ly.db_from_loss(true.loss),
        "single_velocity_m_s": true.single_velocity,
        "front_reflection": front, "extra_loss_db": case.extra_db,
        "front_us": setup.line.round_trip * 1e6,
        "centre_mhz": setup.pulse.centre_hz / 1e6, "bandwidth": setup.pulse.bandwidth,
        "ring": setup.pulse.kind, "phase_rad": setup.pulse.phase,
        "sections": [(sum(l.thickness for l in s), s[0].impedance, ly.effective([s], *args))
                     for s in case.sections],
        "glue_um": case.glue * 1e6, "coat_um": case.coat * 1e6, "gap_um": case.gap * 1e6,
    }


# --- files -------------------------------------------------------------------

def labels(start_us, more=()):
    """The label lines of a file, as pairs."""
    return [("sample_rate_hz", "100000000"), ("start_us", f"{start_us:.3f}"),
            ("signal", "rf"), *more]


def write_csv(path, wave, start_us, more=()):
    """A trace file in CSV; a list of waves is a channel each."""
    waves = np.atleast_2d(wave)
    heads = ["amplitude"] if len(waves) == 1 else [f"amplitude_{c + 1}"
                                                   for c in range(len(waves))]
    with open(path, "w", encoding="ascii") as out:
        for key, value in labels(start_us, more):
            out.write(f"# {key}: {value}\n")
        out.write(",".join(["time_us", *heads]) + "\n")
        for i, row in enumerate(waves.T):
            out.write(f"{start_us + i * 0.01:.3f}," + ",".join(f"{a:.12g}" for a in row) + "\n")


def write_wav(path, wave, start_us, more=()):
    """A trace file in WAV: 16-bit PCM, the labels in the comment string."""
    waves = np.atleast_2d(wave)
    text = "".join(f"{k}: {v}\n" for k, v in labels(start_us, more)).encode() + b"\0"
    text += b"\0" * (len(text) % 2)
    info = b"INFOICMT" + struct.pack("<I", len(text)) + text
    data = np.round(waves.T * 32768).astype("<i2").tobytes()
    frame = 2 * len(waves)
    fmt = struct.pack("<HHIIHH", 1, len(waves), 100000000, 100000000 * frame % 2 ** 32, frame, 16)
    chunks = b"".join(tag + struct.pack("<I", len(body)) + body for tag, body in
                      ((b"fmt ", fmt), (b"LIST", info), (b"data", data)))
    with open(path, "wb") as out:
        out.write(b"RIFF" + struct.pack("<I", 4 + len(chunks)) + b"WAVE" + chunks)


def cell(value):
    """A number as a cell of truth.csv; what does not apply is empty."""
    if isinstance(value, float):
        return "" if np.isnan(value) else f"{value:.9g}"
    return str(value)


def write_set(opt):
    """Make a whole set under opt.out."""
    os.makedirs(opt.out, exist_ok=True)
    write = write_wav if opt.format == "wav" else write_csv
    with open(os.path.join(opt.out, "truth.csv"), "w", newline="", encoding="ascii") as f:
        table = csv.writer(f, lineterminator="\n")
        table.writerow(TRUTH)
        for i in range(1, opt.count + 1):
            truth, trace, pulse = make_trace(opt.seed, i, opt.snr, opt.set, opt, opt.only)
            scale = [("full_scale", "1")]
            for key, wave, more in (
                    ("trace", trace, scale),
                    ("pulse", pulse, scale + [("reference_reflection", "-1")])):
                if not truth[key]:
                    continue
                truth[key] += "." + opt.format
                write(os.path.join(opt.out, truth[key]), wave, truth["start_us"], more)
            table.writerow([cell(truth[k]) for k in TRUTH])


def parser():
    """The command line."""
    p = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    p.add_argument("--set", choices=sorted(SETS), default="plain")
    p.add_argument("--count", type=int, default=300)
    p.add_argument("--snr", type=float, default=40.0, metavar="DB")
    p.add_argument("--seed", type=int, default=1)
    p.add_argument("--out", default=None, metavar="DIR")
    p.add_argument("--format", choices=["csv", "wav"], default="csv")
    p.add_argument("--only", default=None, metavar="CLASS", help="one class alone")
    p.add_argument("--contact", action="store_true",
                   help="a contact probe: no delay line, no interface echo")
    p.add_argument("--least-reflection", type=float, default=None,
                   help="of the bonded interface (0.10 plain, 0.07 hard); at 10 MHz "
                   "0.06 is among the echoes of the plies")
    return p


def defaults():
    """The options of an empty command line."""
    return parser().parse_args([])


def main():
    opt = parser().parse_args()
    if not opt.out:
        raise SystemExit("independent_sim.py: --out DIR is missing")
    write_set(opt)


if __name__ == "__main__":
    main()

"""`plyecho probe` against SciPy on the same samples, and its saved pulse at work.

The definitions are written out here once more (docs/columns.md): the -6 dB band by numpy's FFT, lengths
by scipy.signal.hilbert on samples interpolated twenty times, cycles by counting half waves.
"""
import json
import os
import subprocess
import tempfile
import unittest

import numpy
from scipy import signal

PLYECHO = os.path.abspath("plyecho")
RATE = 100e6


def pulse(t, mhz, rise, fall, phase):
    """A ringing pulse in us: a Gaussian rise, an exponential fall, smoothed where they meet."""
    width = numpy.where(t < 0, rise, fall)
    return numpy.exp(-0.5 * (t / width) ** 2) * numpy.cos(2 * numpy.pi * mhz * t + phase)


def crossing(x, y, level):
    """First and last place where y is at or above level, between samples."""
    inside = numpy.flatnonzero(y >= level)
    ends = []
    for a, b in ((inside[0], inside[0] - 1), (inside[-1], inside[-1] + 1)):
        ends.append(x[a] + (x[b] - x[a]) * (y[a] - level) / (y[a] - y[b]))
    return ends


def by_scipy(x):
    fine = signal.resample(x, 20 * len(x))
    t = numpy.arange(len(fine)) / (20 * RATE) * 1e6
    envelope = numpy.abs(signal.hilbert(fine))
    spectrum = numpy.abs(numpy.fft.rfft(x, 64 * len(x)))
    mhz = numpy.fft.rfftfreq(64 * len(x), 1 / RATE) * 1e-6
    low, high = crossing(mhz, spectrum, spectrum.max() / 2)
    result = {
        "band_low_6db_mhz": low,
        "band_high_6db_mhz": high,
        "centre_mhz": (low + high) / 2,
        "geometric_centre_mhz": (low * high) ** 0.5,
        "peak_frequency_mhz": mhz[spectrum.argmax()],
        "relative_bandwidth_6db": (high - low) / ((low + high) / 2),
        "peak_to_peak": fine.max() - fine.min(),
        "amplitude": envelope.max(),
    }
    for name, share in (("length_6db_us", 0.5), ("length_20db_us", 0.1), ("length_40db_us", 0.01)):
        first, last = crossing(t, envelope, share * envelope.max())
        result[name] = last - first
    magnitude = numpy.abs(fine)
    first, last = crossing(t, magnitude, 0.1 * magnitude.max())
    result["waveform_20db_us"] = last - first
    # a crest just at the level may count or not
    turns = numpy.flatnonzero(numpy.diff(numpy.signbit(fine)))
    waves = numpy.split(magnitude, turns + 1)
    crests = numpy.array([w.max() for w in waves]) / magnitude.max()
    result["cycles_20db"] = 0.5 * numpy.sum(crests >= 0.1)
    if numpy.any(abs(crests - 0.1) < 0.012):
        del result["waveform_20db_us"], result["cycles_20db"]
    return result


def write(path, x, start_us=4.0):
    with open(path, "w") as file:
        file.write(f"# sample_rate_hz: {RATE:.0f}\n# start_us: {start_us}\ntime_us,a\n")
        file.writelines(f"{start_us + i / RATE * 1e6:.2f},{v:.7f}\n" for i, v in enumerate(x))


def run(*arguments):
    result = subprocess.run([PLYECHO, *arguments], capture_output=True, text=True)
    assert result.returncode in (0, 1), result.stderr
    return [json.loads(line) for line in result.stdout.splitlines()]


class Probe(unittest.TestCase):
    # the shares of a value by which two ways of interpolating may differ
    TOLERANCE = {
        "peak_frequency_mhz": 0.01,
        "length_6db_us": 0.01,
        "length_20db_us": 0.01,
        "length_40db_us": 0.03,
        "waveform_20db_us": 0.015,
        "peak_to_peak": 0.05,  # we take samples as they are, five to ten a cycle
        "cycles_20db": 0.0,
    }

    def setUp(self):
        folder = tempfile.TemporaryDirectory()
        self.addCleanup(folder.cleanup)
        self.path = lambda name: os.path.join(folder.name, name)

    def test_as_scipy_measures_it(self):
        random = numpy.random.default_rng(20260)
        t = numpy.arange(1500) / RATE * 1e6 - 7.0
        for _ in range(12):
            mhz = random.uniform(3.0, 11.0)
            rise, fall = numpy.array([1.0, random.uniform(1.0, 2.0)]) * random.uniform(0.5, 0.9) / mhz
            x = 0.7 * pulse(t - random.uniform(0, 0.01), mhz, rise, fall, random.uniform(0, 6.3))
            write(self.path("air.csv"), x)
            row = run("probe", "--format", "json", self.path("air.csv"))[0]
            for key, expected in by_scipy(x).items():
                with self.subTest(key, mhz=mhz, rise=rise, fall=fall):
                    share = self.TOLERANCE.get(key, 0.006)
                    self.assertLessEqual(abs(row[key] / expected - 1), share)

    def test_the_saved_pulse_measures_as_the_record_it_was_cut_from(self):
        probe = ["--delay-line", "pmma:10", "--probe", "7.5M:0.6", "--tail", "1", "--initial", "1"]
        subprocess.run([PLYECHO, "simulate", "--uncoupled", *probe, "--snr", "45", "--seed", "3",
                        "-o", self.path("air.wav")], check=True)
        subprocess.run([PLYECHO, "simulate", "--layer", "carbon:3.2", *probe, "--snr", "40",
                        "--seed", "7", "--channels", "24", "-o", self.path("part.wav")], check=True)
        run("probe", "--format", "json", "--save", self.path("pulse.wav"), self.path("air.wav"))
        wall = ["--velocity", "2950", "--velocity-u", "0", "--nominal", "3.2", "--attenuation",
                "0.1", "--format", "json", self.path("part.wav")]
        whole = run("assess", "--pulse", self.path("air.wav"), *wall)
        cut = run("assess", "--pulse", self.path("pulse.wav"), *wall)
        self.assertEqual([r["verdict"] for r in whole], [r["verdict"] for r in cut])
        for a, b in zip(whole, cut):
            self.assertLess(abs(a["thickness_mm"] - b["thickness_mm"]), 0.5 * a["thickness_u_mm"])
        truth = 3.2
        error = numpy.array([r["thickness_mm"] for r in cut]) - truth
        self.assertLess(numpy.sqrt(numpy.mean(error**2)), 0.004)


if __name__ == "__main__":
    unittest.main()

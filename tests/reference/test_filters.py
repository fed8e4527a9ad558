"""Analytic signal, band-pass and spectrum against NumPy and SciPy, run live."""

import subprocess
import sys

import numpy as np
from scipy import signal

PROBE = "tests/reference/filter_probe"
RATE = 100e6
failures = 0


def check(what, error, most):
    """Say how far we are from the reference; a NaN fails too."""
    global failures
    good = error <= most
    failures += not good
    print(f"{'ok  ' if good else 'FAIL'} {what}: {error:.3g} (at most {most:g})")


def probe(kind, x, *arguments):
    command = [PROBE, kind, str(len(x)), repr(RATE), *map(repr, arguments)]
    run = subprocess.run(command, input=x.astype("<f4").tobytes(), capture_output=True, check=True)
    return np.frombuffer(run.stdout, "<f4").astype(float), run.stderr.decode().split()


def analytic(x, *band):
    both, _ = probe("analytic", x, *band)
    return both[: len(x)] + 1j * both[len(x):]


def burst(n, centre, hz=10e6, alpha=88e12, phase=0.0):
    t = (np.arange(n) - centre) / RATE
    return np.exp(-alpha * t**2) * np.cos(2 * np.pi * hz * t + phase)


def gain_of(band, f):
    """The edges as analytic.h states them, written down a second time."""
    low, high = band
    width = 0.25 * (high - low)
    lower = min(width, 2 * low)
    upper = min(width, 2 * (RATE / 2 - high))
    gain = np.ones_like(f)
    for distance, full in ((f - low, lower), (high - f, upper)):
        if full > 0:
            gain *= 0.5 * (1 + np.sin(np.pi * np.clip(distance / full, -0.5, 0.5)))
        else:
            gain *= distance >= 0
    return gain


def without_line(x, low):
    n = len(x)
    ends = min(int(np.ceil(RATE / low)), int(np.ceil(n / 4)))
    middle = (ends - 1) / 2
    slope = (x[-ends:].mean() - x[:ends].mean()) / (n - ends)
    return x - x[:ends].mean() - slope * (np.arange(n) - middle)


def reference_band_pass(x, band):
    """Double precision, padded eightfold; the quadrature by SciPy's hilbert of the padded record."""
    if band[0] > 0:
        x = without_line(x, band[0])
    length = 8 * 2 ** int(np.ceil(np.log2(len(x) + 4096)))
    gain = gain_of(band, np.fft.rfftfreq(length, 1 / RATE))
    return signal.hilbert(np.fft.irfft(np.fft.rfft(x, length) * gain, length))[: len(x)]


def relative(ours, theirs):
    return np.max(np.abs(ours - theirs)) / np.max(np.abs(theirs))


def check_hilbert(random):
    for n in (2, 3, 4, 5, 16, 127, 500, 509, 1021, 2047, 2048, 5000):
        x = random.standard_normal(n).astype("f4").astype(float)
        check(f"analytic signal of {n} samples, scipy.signal.hilbert",
              relative(analytic(x), signal.hilbert(x)), 1e-5)


def check_band_pass(random):
    for band in ((4e6, 16e6), (9e6, 11e6), (0.2e6, 20e6), (5e6, 49.9e6)):
        for n in (600, 2048, 2039):
            x = random.standard_normal(n) + 3.0 + 0.002 * np.arange(n)
            x = x.astype("f4").astype(float)
            check(f"band {band[0] / 1e6:g} to {band[1] / 1e6:g} MHz of {n} samples, NumPy",
                  relative(analytic(x, *band), reference_band_pass(x, band)), 5e-4)
    # One-sided bands: the in-phase part alone, the quadrature has no end there.
    x = random.standard_normal(2048).astype("f4").astype(float)
    for band in ((0.0, 12e6), (5e6, 50e6)):
        check(f"band {band[0] / 1e6:g} to {band[1] / 1e6:g} MHz, in phase, NumPy",
              relative(analytic(x, *band).real, reference_band_pass(x, band).real), 5e-4)


def check_against_other_filters():
    """Other designs of zero-phase band-pass agree where all of them pass or stop.

    The burst's spectrum is 60 dB down outside 3.9 to 16.1 MHz (Gaussian, alpha = 88 us^-2), so a
    band of 1 to 30 MHz passes it whole, to 1e-3."""
    x = burst(2048, 900.4, phase=0.5)
    ours = analytic(x, 1e6, 30e6).real
    sos = signal.butter(2, (0.3e6, 45e6), "bandpass", fs=RATE, output="sos")
    taps = signal.firwin(401, (1e6, 30e6), pass_zero=False, fs=RATE)
    check("burst inside the band, as it was", relative(ours, x), 1e-3)
    check("burst inside the band, scipy.signal.firwin",
          relative(ours, np.convolve(x, taps, "same")), 1e-2)
    check("burst inside the band, scipy.signal.sosfiltfilt",
          relative(ours, signal.sosfiltfilt(sos, x)), 2e-2)
    t = np.arange(4096) / RATE
    both = np.sin(2 * np.pi * 10e6 * t) + np.sin(2 * np.pi * 2e6 * t) + np.sin(2 * np.pi * 25e6 * t)
    taps = signal.firwin(601, (4e6, 16e6), pass_zero=False, fs=RATE)
    middle = slice(1000, 3000)
    check("lines inside and outside the band, scipy.signal.firwin",
          np.max(np.abs(analytic(both, 4e6, 16e6).real - np.convolve(both, taps, "same"))[middle]),
          3e-3)


def check_spectrum(random):
    for n, padding in ((300, 1), (301, 4), (2048, 1)):
        x = random.standard_normal(n).astype("f4").astype(float)
        power, _ = probe("spectrum", x, padding)
        length = 2 * (len(power) - 1)
        assert length >= n * padding
        _, reference = signal.periodogram(x, RATE, "boxcar", nfft=length, detrend="constant",
                                          scaling="density")
        check(f"spectrum of {n} samples, scipy.signal.periodogram",
              relative(power, reference * n / RATE), 1e-5)
        energy = np.sum((x - x.mean()) ** 2) / RATE
        check(f"energy in the spectrum of {n} samples, Parseval",
              abs(power.sum() * RATE / length / energy - 1), 1e-5)
    # Gaussian echo in closed form: |S| falls to half at f_c -+ sqrt(alpha ln 2) / pi.
    hz, alpha = 5e6, 25e12
    _, measured = probe("spectrum", burst(1200, 600.0, hz, alpha), 4)
    half = np.sqrt(alpha * np.log(2)) / np.pi
    expected = (hz, hz - half, hz + half, hz, np.sqrt(hz**2 - half**2), 2 * half, 2 * half / hz)
    names = ("peak", "lower edge", "upper edge", "centre", "geometric centre", "bandwidth",
             "relative bandwidth")
    for name, ours, theirs in zip(names, map(float, measured), expected, strict=True):
        check(f"Gaussian echo's {name}, closed form", abs(ours / theirs - 1), 2e-3)


def main():
    random = np.random.default_rng(20261125)
    check_hilbert(random)
    check_band_pass(random)
    check_against_other_filters()
    check_spectrum(random)
    return 1 if failures else 0


sys.exit(main())

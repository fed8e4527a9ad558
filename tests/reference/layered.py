"""Pulse-echo traces of layered walls, computed apart from libplyecho.

The wall is a stack of lossy layers at normal incidence.  Pressure and particle
velocity are carried through it by the 2x2 matrix of each layer

    [p]        [ cos kd       j Z sin kd ] [p]
    [v] above  [ j sin kd / Z    cos kd  ] [v] below

(Brekhovskikh, Waves in Layered Media; from memory), with the time factor
exp(+j w t).  Attenuation is proportional to frequency, alpha = a |w|, and the
phase velocity follows it: 1/c(w) = 1/c0 - (2/pi) a ln(w/w0).

Reflection coefficients are those of pressure, R = (Z2 - Z1)/(Z2 + Z1), so that
an end in air is -1.  Units are SI throughout: m, s, m/s, Hz, MRayl as 1e6 Rayl.
"""

from typing import NamedTuple, Optional

import numpy as np

SAMPLE_RATE_HZ = 100e6
SAMPLES = 2048
FFT_LENGTH = 8192
AIR = 413.0
WATER = 1.4797e6
NEPER_DB = 20.0 / np.log(10.0)


class Layer(NamedTuple):
    """A homogeneous layer; `loss` is a of alpha = a |w|, in Np/m per rad/s."""
    thickness: float
    impedance: float
    velocity: float
    loss: float = 0.0


def loss_from_db(db_mm_mhz):
    """dB/mm/MHz, one way, to Np/m per rad/s."""
    return db_mm_mhz * 1e3 / NEPER_DB / (2 * np.pi * 1e6)


def db_from_loss(loss):
    """The inverse of loss_from_db."""
    return loss * NEPER_DB * 2 * np.pi * 1e6 / 1e3


def frequencies(length=FFT_LENGTH, rate=SAMPLE_RATE_HZ):
    """The frequency axis of a real FFT of `length` samples, in Hz."""
    return np.fft.rfftfreq(length, 1.0 / rate)


def wavenumber(omega, velocity, loss, omega0):
    """Complex wavenumber; `velocity` is the phase velocity at `omega0`."""
    log_ratio = np.log(np.maximum(omega, 1e-30) / omega0)
    slowness = 1.0 / velocity - 2.0 / np.pi * loss * log_ratio
    return omega * slowness - 1j * loss * omega


def through(layers, end_impedance, omega, omega0):
    """Pressure and velocity at the top of a stack that ends in a half-space.

    The pressure at the end is 1.  Equal layers share their exponential.
    """
    p = np.ones(omega.shape, complex)
    v = p / end_impedance
    for layer in reversed(layers):
        e = np.exp(-1j * layer.thickness
                   * wavenumber(omega, layer.velocity, layer.loss, omega0))
        cosine, j_sine = 0.5 * (1 / e + e), 0.5 * (1 / e - e)
        p, v = (cosine * p + layer.impedance * j_sine * v,
                j_sine / layer.impedance * p + cosine * v)
    return p, v


def reflection(layers, above, below, omega, omega0):
    """Reflection of a stack between the half-spaces `above` and `below`."""
    p, v = through(layers, below, omega, omega0)
    return (p - above * v) / (p + above * v)


def transmission(layers, around, omega, omega0):
    """Transmission of a stack embedded in a medium of impedance `around`."""
    p, v = through(layers, around, omega, omega0)
    return 2.0 / (p + around * v)


class Effective(NamedTuple):
    """What a calibration on this very wall would find."""
    velocity: float          # phase velocity at the centre frequency, m/s
    loss: float              # Np/m per rad/s, scattering of the plies included
    single_velocity: float   # from the phase at the centre frequency alone


def effective(sections, pulse, omega, omega0):
    """Velocity and loss of a wall made of sections, weighted over the band.

    Each section is embedded in its own first layer's impedance, so that the
    reverberation between sections does not enter.  The phase is fitted with the
    weight of the back-wall echo, as the time of that echo would be.
    """
    thickness = sum(l.thickness for s in sections for l in s)
    transfer = np.ones(omega.shape, complex)
    for s in sections:
        transfer = transfer * transmission(s, s[0].impedance, omega, omega0)
    phase = -np.unwrap(np.angle(transfer))
    decay = -np.log(np.abs(transfer))
    w = np.abs(pulse * transfer ** 2) ** 2
    w[0] = 0.0
    loss = np.sum(w * decay * omega) / np.sum(w * omega ** 2) / thickness
    safe = np.maximum(omega, omega[1])
    slow = phase / safe / thickness + 2 / np.pi * loss * np.log(safe / omega0)
    weight = w * omega ** 2
    velocity = np.sum(weight) / np.sum(weight * slow)
    return Effective(velocity, loss, 1.0 / np.interp(omega0, omega, slow))


class Pulse(NamedTuple):
    """A probe's pulse as it comes back through the delay line once."""
    spectrum: np.ndarray     # on the frequency axis; its wave's peak is 1
    kind: str
    centre_hz: float         # mean of the -6 dB limits
    bandwidth: float         # relative, -6 dB
    phase: float


def _envelope_spectrum(kind, offset, width):
    """Spectrum of the envelope, `offset` in Hz from the carrier."""
    if kind == "gauss":
        return np.exp(-np.log(2) * (2 * offset / width) ** 2).astype(complex)
    if kind == "gamma":          # t^2 exp(-t/tau)
        tau = np.sqrt(2 ** (2 / 3) - 1) / (np.pi * width)
        return 1.0 / (1 + 2j * np.pi * offset * tau) ** 3
    if kind == "resonator":      # a Gaussian drive and a ringing tail
        tau = 0.8 / (np.pi * width)
        half = np.sqrt(1 + 0.64)             # the tail's share at the -6 dB limit
        drive = np.log(2 / half)
        return (np.exp(-drive * (2 * offset / width) ** 2)
                / (1 + 2j * np.pi * offset * tau))
    raise ValueError(f"unknown pulse kind {kind}")


def band_limits(freq, spectrum):
    """The -6 dB limits of a spectrum, interpolated, in Hz."""
    level = np.abs(spectrum) / np.abs(spectrum).max()
    top = int(np.argmax(level))
    lo = top
    while lo > 0 and level[lo] >= 0.5:
        lo -= 1
    hi = top
    while hi < len(level) - 1 and level[hi] >= 0.5:
        hi += 1

    def cross(a, b):
        return freq[a] + (0.5 - level[a]) / (level[b] - level[a]) * (freq[b] - freq[a])
    return cross(lo, lo + 1), cross(hi, hi - 1)


def make_pulse(kind, carrier_hz, relative, phase, freq, length=FFT_LENGTH):
    """A pulse of a given -6 dB relative bandwidth about a carrier.

    The receiver's high-pass (second order, 0.12 of the carrier) keeps it free
    of a constant part; the centre frequency and bandwidth returned are measured.
    """
    width = relative * carrier_hz
    s = (0.5 * np.exp(1j * phase) * _envelope_spectrum(kind, freq - carrier_hz, width)
         + 0.5 * np.exp(-1j * phase) * _envelope_spectrum(kind, freq + carrier_hz, width))
    x = 1j * freq / (0.12 * carrier_hz)
    s = s * x ** 2 / (x ** 2 + np.sqrt(2) * x + 1)
    s[-1] = 0.0
    wave = np.fft.irfft(s * np.exp(-2j * np.pi * freq * 5e-6), length)
    s = s / np.abs(wave).max()
    lo, hi = band_limits(freq, s)
    return Pulse(s, kind, 0.5 * (lo + hi), 2 * (hi - lo) / (hi + lo), phase)


class DelayLine(NamedTuple):
    """A delay line: its impedance, round trip and what its repeats lose."""
    impedance: float
    round_trip: float        # s
    length: float            # m
    loss: float              # Np/m per rad/s
    probe_reflection: float  # at the probe's face, seen from the line


def chain(gamma, pulse, line, omega, omega0, round_trip: Optional[float] = None):
    """Spectrum of a record: the echoes of the line's end and their repeats.

    The pulse is defined as it arrives after one round trip, so only repeats
    carry the line's loss and dispersion.
    """
    trip = line.round_trip if round_trip is None else round_trip
    once = np.exp(-1j * omega * trip)
    velocity = 2 * line.length / line.round_trip
    lossy = (wavenumber(omega, velocity, line.loss, omega0) - omega / velocity)
    again = line.probe_reflection * once * np.exp(-2j * lossy * line.length)
    return pulse.spectrum * once * gamma / (1 - again * gamma)


def to_record(spectrum, omega, start, samples=SAMPLES, length=FFT_LENGTH):
    """The first `samples` of the wave from `start` seconds on."""
    return np.fft.irfft(spectrum * np.exp(1j * omega * start), length)[:samples]

"""Walls of the simulated sets: what is there, and what a user is told of it.

Each class is a function (rng, setup, options) -> Case.  Materials and ranges are
synthetic (common practice, no source).
"""

from dataclasses import dataclass, field

import numpy as np

import layered as ly
from layered import Layer

NOMINAL_U = 0.02         # relative scatter of the nominal about the wall
RESIN = (3.0e6, 2500.0)


@dataclass
class Case:
    """A wall and what a user is told about it; not yet a trace."""
    kind: str
    accept: str
    paths: list                  # (share of the beam, layers, impedance at the end)
    sections: list               # the wall alone, for the effective velocity
    thickness: float
    depth: float = np.nan
    cover: float = np.nan
    strength: float = np.nan     # the interface's reflection coefficient
    nominal: float = np.nan
    coupled: bool = True
    extra_db: float = 0.0        # loss of the back wall that is not stated
    stated: list = field(default_factory=list)   # sections without the extra loss
    glue: float = np.nan
    coat: float = np.nan
    gap: float = np.nan


@dataclass
class WallSet:
    """What the traces of one set have in common."""
    carrier: float               # Hz
    walls: tuple                 # thinnest and thickest, m
    least_cover: float           # of a partial delamination
    least_reflection: float      # of a bonded interface
    classes: list                # (builder, share of the set)
    ideal: bool = False          # nothing but echoes and noise; all told exactly


@dataclass
class Setup:
    """Probe, delay line and frequency axis of one trace."""
    set: WallSet
    freq: np.ndarray
    omega: np.ndarray
    pulse: ly.Pulse
    line: ly.DelayLine
    omega0: float


def make_setup(rng, walls, contact=False):
    """Draw a probe for a WallSet and a plastic delay line.

    A contact probe is a line of a fraction of a microsecond, the wear face.
    """
    freq = ly.frequencies()
    kind = rng.choice(["gauss", "gamma", "resonator"], p=[0.4, 0.3, 0.3])
    pulse = ly.make_pulse(kind, walls.carrier * rng.uniform(0.97, 1.03),
                          rng.uniform(0.45, 0.80), rng.uniform(0, 2 * np.pi), freq)
    trip = rng.uniform(6e-6, 12e-6)
    line = ly.DelayLine(rng.uniform(2.5e6, 3.2e6), trip,
                        0.5 * trip * rng.uniform(2300, 2700),
                        ly.loss_from_db(rng.uniform(0.01, 0.05)),
                        rng.uniform(0.15, 0.45))
    if walls.ideal:
        line = line._replace(probe_reflection=0.0)
    if contact:
        line = ly.DelayLine(rng.uniform(6e6, 12e6), rng.uniform(0.05e-6, 0.3e-6),
                            0.5e-3, 0.0, 0.0)
    return Setup(walls, freq, 2 * np.pi * freq, pulse, line, 2 * np.pi * pulse.centre_hz)


@dataclass
class Laminate:
    """What the plies of one wall have in common."""
    impedance: float
    velocity: float
    loss: float
    resin: float                 # mean thickness of the resin between plies


def make_laminate(rng):
    """Draw a carbon laminate."""
    return Laminate(4.65e6 * (1 + 0.01 * rng.standard_normal()),
                    rng.uniform(2820, 3080), ly.loss_from_db(rng.uniform(0.05, 0.15)),
                    rng.uniform(3e-6, 5e-6))


def carbon(rng, lam, thickness):
    """Plies of about 0.2 mm (3 % jitter) parted by resin of 2 to 6 micrometres."""
    n = max(1, round(thickness / 0.2e-3))
    resin = np.clip(lam.resin * (1 + 0.2 * rng.standard_normal(n - 1)), 2e-6, 6e-6)
    ply = 1 + 0.03 * rng.standard_normal(n)
    ply *= (thickness - resin.sum()) / ply.sum()
    layers = []
    for i in range(n):
        layers.append(Layer(ply[i], lam.impedance, lam.velocity, lam.loss))
        if i < n - 1:
            layers.append(Layer(resin[i], *RESIN, lam.loss))
    return layers


def split(layers, depth):
    """The plies above and below the ply boundary nearest to `depth`, and that depth."""
    ends = np.cumsum([l.thickness for l in layers])[::2]
    i = int(np.argmin(np.abs(ends[:-1] - depth)))
    return layers[:2 * i + 1], layers[2 * i + 2:], float(ends[i])


def nominal_of(rng, thickness):
    """The nominal that the user is told: near the wall, not on it."""
    return thickness * (1 + NOMINAL_U * rng.standard_normal())


# --- the plain set -----------------------------------------------------------

def sound(rng, setup, opt):
    """A good wall in air."""
    lam, d = make_laminate(rng), rng.uniform(*setup.set.walls)
    wall = carbon(rng, lam, d)
    return Case("sound", "no-indication", [(1.0, wall, ly.AIR)], [wall], d,
                nominal=nominal_of(rng, d))


def thin(rng, setup, opt):
    """A good wall, well below its nominal."""
    case = sound(rng, setup, opt)
    case.kind, case.accept = "thin", "thin|undecided"
    case.nominal = case.thickness / rng.uniform(0.72, 0.88)
    return case


def interface(rng, setup, opt):
    """Carbon on a bonded glass-fibre sleeve."""
    lam, d = make_laminate(rng), rng.uniform(*setup.set.walls)
    depth = d * rng.uniform(0.3, 0.75)
    least = opt.least_reflection or setup.set.least_reflection
    r = rng.uniform(least, 0.25) * rng.choice([-1, 1])
    outer = carbon(rng, lam, depth)
    sleeve = [Layer(d - depth, lam.impedance * (1 + r) / (1 - r),
                    rng.uniform(2700, 3100), ly.loss_from_db(rng.uniform(0.05, 0.15)))]
    return Case("interface", "inner-echo", [(1.0, outer + sleeve, ly.AIR)],
                [outer, sleeve], d, depth, strength=r, nominal=nominal_of(rng, d))


def full_gap(rng, setup, opt):
    """A delamination wider than the beam."""
    case = sound(rng, setup, opt)
    upper, _, case.depth = split(case.sections[0], case.thickness * rng.uniform(0.2, 0.65))
    case.kind, case.accept = "full-gap", "delamination"
    case.paths, case.cover, case.strength = [(1.0, upper, ly.AIR)], 1.0, -1.0
    return case


def part_gap(rng, setup, opt):
    """A delamination under part of the beam: the beam-weighted sum of two stacks."""
    case = sound(rng, setup, opt)
    wall = case.sections[0]
    upper, _, case.depth = split(wall, case.thickness * rng.uniform(0.2, 0.7))
    case.kind, case.accept = "part-gap", "delamination"
    case.cover = rng.uniform(setup.set.least_cover, 0.9)
    case.paths = [(case.cover, upper, ly.AIR), (1 - case.cover, wall, ly.AIR)]
    case.strength = -case.cover
    return case


def back_peak(sections, setup):
    """Envelope peak of the direct back-wall echo, front losses left out."""
    spectrum = setup.pulse.spectrum.copy()
    for s in sections:
        spectrum = spectrum * ly.transmission(s, s[0].impedance, setup.omega,
                                              setup.omega0) ** 2
    spectrum = spectrum * np.exp(-1j * setup.omega * 5e-6)
    both = np.zeros(ly.FFT_LENGTH, complex)
    both[:len(spectrum)] = 2 * spectrum
    return np.abs(np.fft.ifft(both)).max()


def with_extra_loss(layers, loss):
    """The same layers, each with more loss."""
    return [l._replace(loss=l.loss + loss) for l in layers]


def porous(rng, setup, opt):
    """A wall whose back-wall echo is 8 to 14 dB below what is stated."""
    case = sound(rng, setup, opt)
    case.kind, case.accept = "porous", "attenuated"
    case.extra_db = rng.uniform(8, 14)
    wall = case.sections[0]
    wanted = back_peak([wall], setup) * 10 ** (-case.extra_db / 20)
    lo, hi = 0.0, ly.loss_from_db(1.0)
    for _ in range(18):
        mid = 0.5 * (lo + hi)
        if back_peak([with_extra_loss(wall, mid)], setup) > wanted:
            lo = mid
        else:
            hi = mid
    worse = with_extra_loss(wall, mid)
    case.stated, case.sections = [wall], [worse]
    case.paths = [(1.0, worse, ly.AIR)]
    return case


def uncoupled(rng, setup, opt):
    """The delay line's end in air; the wall is never reached."""
    case = sound(rng, setup, opt)
    case.kind, case.accept, case.coupled = "uncoupled", "unreadable", False
    return case


PLAIN = WallSet(10e6, (2e-3, 5e-3), 0.3, 0.10,
                [(sound, 0.30), (interface, 0.15), (full_gap, 0.15), (part_gap, 0.15),
                 (thin, 0.10), (porous, 0.10), (uncoupled, 0.05)])


# --- a bare plate, for the bound on the time ---------------------------------

def plate(rng, setup, opt):
    """A lossless plate in air."""
    d, velocity = rng.uniform(*setup.set.walls), rng.uniform(2820, 3080)
    wall = [Layer(d, 4.65e6, velocity)]
    return Case("plate", "no-indication", [(1.0, wall, ly.AIR)], [wall], d,
                nominal=nominal_of(rng, d))


PLATE = WallSet(10e6, (2e-3, 5e-3), 0.3, 0.10, [(plate, 1.0)], ideal=True)

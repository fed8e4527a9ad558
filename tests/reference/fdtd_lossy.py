"""Waves in many lossy stacks at once, by finite differences in time.

A second simulator beside layered.py, by another method: Newton's law at nodes, Hooke's
law in cells, and memory elements for the loss.  No reflection coefficient, no transfer
matrix and no logarithm of frequency anywhere.

Method.  A staggered grid whose cells each last at least one time step (Courant number
0.99 to 1, where the scheme has next to no numerical dispersion; common practice, from
memory).  Films of some micrometres are thinner than a cell: a cell takes the mass and the
compliance of whatever lies in it, which is exact to the second order in cell over
wavelength (7 micrometres against 300 at 10 MHz), and keeps thickness and travel time.
This was taken rather than a lattice of equal transit times, because that one has to move
each film to a whole number of steps.  Stacks are rows of one array, so that one pass of
Python serves them all.

Loss.  A generalised Maxwell body: M(w) = K (1 - sum y_l / (1 + j w tau_l)), each branch
one memory variable, advanced exactly for a constant strain rate in a step (Emmerich and
Korn, Geophysics 52 (1987) 1252; from memory).  The y_l are fitted so that alpha is
proportional to frequency from 1 to 25 MHz; the dispersion comes with them by itself.
"""

from typing import NamedTuple, Optional

import numpy as np
from scipy import optimize

STEP = 2.5e-9
LEAD = 3                                   # cells of the medium above, in the grid
SPIKE = 5e-9                               # standard deviation of the incident spike
RELAXATIONS = 1 / (2 * np.pi * np.geomspace(0.7e6, 45e6, 5))
DB = 20 / np.log(10)


class Solid(NamedTuple):
    """A material: density, unrelaxed modulus and the shares of its memory elements."""
    density: float
    modulus: float
    share: np.ndarray

    @property
    def impedance(self):
        """Of the unrelaxed solid, in Rayl."""
        return np.sqrt(self.density * self.modulus)


class Slab(NamedTuple):
    """A layer of a stack."""
    thickness: float
    solid: Solid


class Stack(NamedTuple):
    """Slabs between a medium of impedance `above` and `below`; None is a free face."""
    above: float
    slabs: list
    below: Optional[float] = None


def _linear_shares():
    """Shares that make 1/Q one, flat over the band."""
    w = 2 * np.pi * np.geomspace(1e6, 25e6, 60)[:, None]
    peaks = w * RELAXATIONS / (1 + (w * RELAXATIONS) ** 2)
    return optimize.nnls(peaks, np.ones(len(w)))[0]


def _square_shares():
    """Shares that make 1/Q grow as the frequency does: the highest relaxation alone."""
    out = np.zeros(len(RELAXATIONS))
    out[-1] = 1.0
    return out


SHARES = {"linear": _linear_shares(), "square": _square_shares()}


def wavenumber(solid, hz):
    """Complex wavenumber of a solid, for checks and for setting its constants."""
    w = 2 * np.pi * np.asarray(hz, float)
    relaxing = np.sum(solid.share[:, None] / (1 + 1j * w * RELAXATIONS[:, None]), axis=0)
    return w * np.sqrt(solid.density / (solid.modulus * (1 - relaxing)))


def solid(impedance, velocity, loss_db, centre_hz, law="linear"):
    """A solid of a given phase velocity and loss (dB/mm/MHz) at the centre frequency."""
    density = impedance / velocity
    base = Solid(density, density * velocity ** 2, np.zeros(len(RELAXATIONS)))
    if loss_db <= 0:
        return base
    wanted = loss_db * centre_hz * 1e-6 * 1e3 / DB

    def made(scale):
        trial = base._replace(share=scale * SHARES[law])
        k = wavenumber(trial, [centre_hz])[0]
        stiffer = (2 * np.pi * centre_hz / k.real / velocity) ** 2
        return trial._replace(modulus=base.modulus / stiffer)
    top = 0.9 / SHARES[law].sum()
    scale = optimize.brentq(
        lambda s: -wavenumber(made(s), [centre_hz])[0].imag - wanted, 1e-9, top)
    return made(scale)


class Cells(NamedTuple):
    """A stack on the grid: what each cell weighs, yields and forgets."""
    mass: np.ndarray
    compliance: np.ndarray
    share: np.ndarray                      # elements x cells


def cells_of(slabs):
    """Cells of equal travel time, at least one step each."""
    h = np.array([s.thickness for s in slabs])
    density = np.array([s.solid.density for s in slabs])
    modulus = np.array([s.solid.modulus for s in slabs])
    share = np.stack([s.solid.share for s in slabs], axis=1)

    def ends(x):
        return np.concatenate([[0.0], np.cumsum(x)])
    time = ends(h * np.sqrt(density / modulus))
    edges = np.linspace(0, time[-1], int(time[-1] / STEP) + 1)
    edges[-1] = time[-1]

    def per_cell(x):
        return np.diff(np.interp(edges, time, ends(x)))
    compliance = per_cell(h / modulus)
    return Cells(per_cell(h * density), compliance,
                 np.stack([per_cell(s * h / modulus) for s in share]) / compliance)


def _lay(stacks):
    """All stacks on one grid: mass, compliance (inf: nothing there) and shares."""
    parts = [cells_of(s.slabs) for s in stacks]
    width = LEAD + max(len(p.mass) for p in parts) + LEAD
    mass = np.zeros((len(stacks), width))
    compliance = np.full((len(stacks), width), np.inf)
    share = np.zeros((len(RELAXATIONS), len(stacks), width))
    for i, (s, p) in enumerate(zip(stacks, parts)):
        n = LEAD + len(p.mass)
        mass[i, :LEAD], compliance[i, :LEAD] = STEP * s.above, STEP / s.above
        mass[i, LEAD:n], compliance[i, LEAD:n] = p.mass, p.compliance
        share[:, i, LEAD:n] = p.share
        if s.below is not None:
            mass[i, n:], compliance[i, n:] = STEP * s.below, STEP / s.below
    return mass, compliance, share, np.array([width - LEAD - len(p.mass) for p in parts])


def spike(steps):
    """The incident particle velocity: a Gaussian, at its top after six deviations."""
    return np.exp(-0.5 * ((np.arange(steps) * STEP - 6 * SPIKE) / SPIKE) ** 2)


def march(stacks, steps):
    """Pressure sent back and particle velocity let through, rows x steps, for a spike
    of unit pressure; time 0 is that of the spike at the stack's face (behind it)."""
    mass, compliance, share, behind = _lay(stacks)
    pull = np.zeros((len(stacks), mass.shape[1] + 1))
    weight = mass[:, :-1] + mass[:, 1:]
    pull[:, 1:-1] = np.divide(2 * STEP, weight, out=np.zeros_like(weight), where=weight > 0)
    keep = np.exp(-STEP / RELAXATIONS)
    mean = (1 - keep) * RELAXATIONS / STEP
    push = STEP / compliance * (1 - np.tensordot(1 - mean, share, 1))
    fed = (1 - keep)[:, None, None] * mean[:, None, None] * share * (STEP / compliance)
    keep = keep[:, None, None]
    above = np.array([s.above for s in stacks])
    total = steps + 2 * LEAD + int(behind.max())
    sent = np.concatenate([spike(total), [0.0, 0.0]])    # sent[-1] is before the start
    v, p = np.zeros_like(pull), np.zeros_like(mass)
    memory, new = np.zeros_like(share), np.zeros_like(share)
    step, strain = np.zeros_like(v[:, 1:-1]), np.zeros_like(p)
    back, gone = np.zeros((len(stacks), total)), np.zeros((len(stacks), total))
    pull = pull[:, 1:-1]
    for n in range(total):
        first, last = v[:, 1].copy(), v[:, -2].copy()
        np.subtract(p[:, :-1], p[:, 1:], out=step)
        step *= pull
        v[:, 1:-1] += step
        v[:, 0] = (sent[n + 1] - sent[n - 1]) / above + first  # what comes in, what leaves
        v[:, -1] = last
        np.subtract(v[:, :-1], v[:, 1:], out=strain)
        p -= memory.sum(axis=0)
        memory *= keep
        np.multiply(fed, strain, out=new)
        memory += new
        strain *= push
        p += strain
        back[:, n] = sent[n + 1] - above * v[:, 0]
        gone[:, n] = v[:, -1]
    return (back[:, 2 * LEAD - 1:][:, :steps],
            np.stack([g[LEAD + b - 1:][:steps] for g, b in zip(gone, behind)]))

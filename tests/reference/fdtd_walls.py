"""Walls for fdtd_set.py, drawn apart from wall_cases.py and hard_cases.py.

Each class is a function (rng, kit) -> Wall.  The ranges are those that the project sets
itself; within them everything is drawn in another way: ply and film thickness, nominal
(exactly the wall, or off), what the user is told (the carbon's velocity and attenuation
alone), sleeves thinner than a pulse, glue harder or softer, coats over glue lines, gaps
close to a face or stepping from one ply to the next.  Common practice, no source.
"""

from dataclasses import dataclass, field

import numpy as np

from fdtd_lossy import Slab, solid, wavenumber


@dataclass
class Kit:
    """What a set has in common, and the probe's centre frequency."""
    centre_hz: float
    walls: tuple                 # m
    least_cover: float
    least_step: float            # reflection of a bonded sleeve
    plies: tuple                 # thinnest and thickest, m
    hz: np.ndarray               # the probe's pulse: frequencies and spectrum
    spectrum: np.ndarray


@dataclass
class Wall:
    """A wall: shares of the beam with what lies under them, and its truth."""
    kind: str
    accept: str
    shares: list                 # (share, slabs); all end in air
    thickness: float
    told: list                   # slabs whose velocity and loss the user knows
    depth: float = np.nan
    cover: float = np.nan
    strength: float = np.nan
    nominal: float = np.nan
    coupled: bool = True
    extra_db: float = 0.0
    glue: float = np.nan
    coat: float = np.nan
    gap: float = np.nan
    plies: list = field(default_factory=list)


def carbon(rng, kit, thickness, loss=None):
    """A laminate; returns its slabs, ply and film in turn."""
    impedance, velocity = rng.uniform(4.45e6, 4.85e6), rng.uniform(2800, 3100)
    loss = rng.uniform(0.05, 0.15) if loss is None else loss
    ply = solid(impedance, velocity, loss, kit.centre_hz)
    resin = solid(rng.uniform(2.8e6, 3.2e6), rng.uniform(2450, 2750), 0.3, kit.centre_hz)
    n = max(2, round(thickness / rng.uniform(*kit.plies)))
    film = rng.uniform(2e-6, 5e-6)
    films = np.clip(film * rng.lognormal(0, rng.uniform(0.05, 0.35), n - 1), 1e-6, 6e-6)
    plies = 1 + rng.uniform(0, 0.06) * rng.standard_normal(n)
    plies *= (thickness - films.sum()) / plies.sum()
    out = []
    for i in range(n):
        out.append(Slab(plies[i], ply))
        if i < n - 1:
            out.append(Slab(films[i], resin))
    return out


def nominal_of(rng, wall):
    """On the wall exactly, off by 2 % or, rarely, off by 5 %."""
    off = rng.choice([0.0, 0.02, 0.05], p=[0.4, 0.5, 0.1])
    return wall * (1 + off * np.clip(rng.standard_normal(), -1.7, 1.7))


def ends(slabs):
    """Depths of the ply boundaries."""
    return np.cumsum([s.thickness for s in slabs])[:-1:2]


def cut(slabs, depth):
    """Plies above and below the boundary nearest to a depth, and that depth."""
    at = ends(slabs)
    i = int(np.argmin(np.abs(at - depth)))
    return slabs[:2 * i + 1], slabs[2 * i + 2:], float(at[i])


def thick(rng, kit):
    """A wall's thickness, thin ones as likely as thick ones on a log scale."""
    return float(np.exp(rng.uniform(*np.log(kit.walls))))


def cover_of(rng, kit):
    """How much of the beam a gap covers."""
    return rng.uniform(kit.least_cover, 0.9)


def sound(rng, kit):
    """A good wall."""
    d = thick(rng, kit)
    slabs = carbon(rng, kit, d)
    return Wall("sound", "no-indication", [(1.0, slabs)], d, slabs,
                nominal=nominal_of(rng, d), plies=slabs)


def thin(rng, kit):
    """A good wall, but not as thick as it should be."""
    w = sound(rng, kit)
    w.kind, w.accept, w.nominal = "thin", "thin|undecided", w.thickness / rng.uniform(0.73, 0.87)
    return w


def sleeve_of(rng, kit, thickness, like, least, most):
    """A glass sleeve whose reflection against `like` lies in a range; and that."""
    r = rng.uniform(least, most) * (1 if rng.random() < 0.7 else -1)
    z = like[-1].solid.impedance * (1 + r) / (1 - r)
    return [Slab(thickness, solid(z, rng.uniform(2600, 3200), rng.uniform(0.08, 0.18),
                                  kit.centre_hz))], r


def interface(rng, kit):
    """A bonded sleeve of glass."""
    d = thick(rng, kit)
    depth = d * rng.uniform(0.3, 0.75)
    outer = carbon(rng, kit, depth)
    sleeve, r = sleeve_of(rng, kit, d - depth, outer, kit.least_step, 0.22)
    return Wall("interface", "inner-echo", [(1.0, outer + sleeve)], d, outer, depth,
                strength=r, nominal=nominal_of(rng, d))


def thin_sleeve(rng, kit):
    """A bonded sleeve thinner than a pulse: its echo runs into the back wall's."""
    d, inner = thick(rng, kit) + 0.3e-3, rng.uniform(0.25e-3, 0.5e-3)
    outer = carbon(rng, kit, d - inner)
    sleeve, r = sleeve_of(rng, kit, inner, outer, 0.03, 0.15)
    return Wall("thin-sleeve", "inner-echo|no-indication|undecided",
                [(1.0, outer + sleeve)], d, outer, d - inner, strength=r,
                nominal=nominal_of(rng, d))


def glue_layer(rng, kit):
    """A film of glue, 20 to 200 micrometres, filled or not."""
    h = float(np.exp(rng.uniform(np.log(20e-6), np.log(200e-6))))
    return Slab(h, solid(rng.uniform(2.4e6, 3.5e6), rng.uniform(2100, 2800),
                         rng.uniform(0.15, 0.5), kit.centre_hz))


def film_strength(film, around, hz):
    """|R| of a film in one medium (three-layer formula), for the truth alone."""
    z, zf = around.impedance, film.solid.impedance
    phase = 2 * np.pi * hz * film.thickness / (zf / film.solid.density)
    s = 0.25 * (z / zf - zf / z) ** 2 * np.sin(phase) ** 2
    return float(np.sqrt(s / (1 + s)))


def glue(rng, kit):
    """A glue line between carbon and carbon or glass."""
    d = thick(rng, kit)
    film = glue_layer(rng, kit)
    depth = d * rng.uniform(0.25, 0.78)
    outer, rest = carbon(rng, kit, depth), d - depth - film.thickness
    inner = (carbon(rng, kit, rest) if rng.random() < 0.5
             else sleeve_of(rng, kit, rest, outer, 0.0, 0.15)[0])
    return Wall("glue", "inner-echo", [(1.0, outer + [film] + inner)], d, outer, depth,
                strength=film_strength(film, outer[0].solid, kit.centre_hz),
                nominal=nominal_of(rng, d), glue=film.thickness)


def gap_depth(rng, w):
    """Any depth, with a liking for the faces."""
    share = rng.choice([rng.uniform(0.2, 0.3), rng.uniform(0.2, 0.8), rng.uniform(0.7, 0.8)],
                       p=[0.2, 0.6, 0.2])
    return w.thickness * share


def shadow(rng, kit):
    """A delamination wider than the beam."""
    w = sound(rng, kit)
    upper, _, w.depth = cut(w.plies, gap_depth(rng, w))
    w.kind = "full-gap"
    lone = w.depth > 0.68 * w.nominal
    w.accept = "delamination|undecided" if lone else "delamination"
    w.shares, w.cover, w.strength = [(1.0, upper)], 1.0, -1.0
    return w


def part_gap(rng, kit):
    """A delamination under part of the beam."""
    w = sound(rng, kit)
    upper, _, w.depth = cut(w.plies, gap_depth(rng, w))
    w.kind, w.accept, w.cover = "part-gap", "delamination", cover_of(rng, kit)
    w.shares, w.strength = [(w.cover, upper), (1 - w.cover, w.plies)], -w.cover
    return w


def step_gap(rng, kit):
    """A delamination that steps from one ply boundary to the next."""
    w = part_gap(rng, kit)
    at = ends(w.plies)
    i = int(np.argmin(np.abs(at - w.depth)))
    if i + 1 < len(at):
        part = w.cover * rng.uniform(0.3, 0.7)
        lower, _, _ = cut(w.plies, at[i + 1])
        w.shares = [(w.cover - part, w.shares[0][1]), (part, lower), w.shares[1]]
    w.kind = "step-gap"
    return w


def disbond(rng, kit):
    """A sleeve that has come off, wholly or under part of the beam; glue left on it or not."""
    d = thick(rng, kit)
    depth = d * rng.uniform(0.3, 0.8)
    outer = carbon(rng, kit, depth)
    sleeve, _ = sleeve_of(rng, kit, d - depth, outer, 0.0, 0.15)
    if rng.random() < 0.3:       # the glue stays on the carbon
        film = glue_layer(rng, kit)
        film = film._replace(thickness=min(film.thickness, 80e-6))
    else:
        film = None
    bonded = outer + ([film] if film else []) + sleeve
    gone = outer + ([film] if film else [])
    depth_gap = sum(s.thickness for s in gone)
    total = sum(s.thickness for s in bonded)
    cover = 1.0 if rng.random() < 0.4 else cover_of(rng, kit)
    nominal = nominal_of(rng, total)
    shares = [(cover, gone)] + ([(1 - cover, bonded)] if cover < 1 else [])
    lone = cover == 1 and depth_gap > 0.68 * nominal
    return Wall("disbond", "delamination|undecided" if lone else "delamination", shares,
                total, outer, depth_gap, cover, -cover, nominal,
                glue=film.thickness if film else np.nan)


def wet_gap(rng, kit):
    """A delamination filled with water."""
    w = sound(rng, kit)
    upper, lower, w.depth = cut(w.plies, w.thickness * rng.uniform(0.25, 0.75))
    water = Slab(float(np.exp(rng.uniform(np.log(4e-6), np.log(60e-6)))),
                 solid(1.48e6, 1482.0, 0.0, kit.centre_hz))
    w.kind, w.accept, w.gap = "wet-gap", "delamination|inner-echo", water.thickness
    w.shares, w.cover = [(1.0, upper + [water] + lower)], 1.0
    w.strength = film_strength(water, upper[0].solid, kit.centre_hz)
    return w


def back_peak(kit, slabs):
    """Envelope peak of what has gone through the slabs and back, films' echoes left out."""
    turn = sum(s.thickness * wavenumber(s.solid, kit.hz) for s in slabs)
    return np.abs(np.fft.ifft(kit.spectrum * np.exp(-2j * turn), 4 * len(kit.hz))).max()


def porous(rng, kit):
    """Pores all through, or in half of the plies; a loss linear or square in frequency.

    The back wall's envelope is 8 to 14 dB lower; the pores make the wave slower too.
    """
    w = sound(rng, kit)
    w.kind, w.accept, w.extra_db = "porous", "attenuated", rng.uniform(8, 14)
    law, most, half = [("linear", 0.9, False), ("square", 0.6, False),
                       ("linear", 2.5, True)][rng.choice(3, p=[0.5, 0.25, 0.25])]
    n = len(w.plies)
    bad = range(n // 4, n - n // 4) if half else range(n)
    base, slower = w.plies[0].solid, rng.uniform(0.97, 1.0)
    wanted = back_peak(kit, w.plies) * 10 ** (-w.extra_db / 20)

    def worse(loss):
        more = solid(base.impedance, base.impedance / base.density, loss, kit.centre_hz, law)
        lossy = base._replace(share=base.share + more.share, modulus=base.modulus * slower ** 2)
        return [s._replace(solid=lossy) if i in bad else s for i, s in enumerate(w.plies)]
    low, high = 0.0, most
    for _ in range(12):
        middle = 0.5 * (low + high)
        low, high = ((middle, high) if back_peak(kit, worse(middle)) > wanted
                     else (low, middle))
    w.shares = [(1.0, worse(high))]
    w.extra_db = 20 * np.log10(back_peak(kit, w.plies) / back_peak(kit, w.shares[0][1]))
    return w


def uncoupled(rng, kit):
    """The line's end in air, or wet but not touching."""
    w = sound(rng, kit)
    w.kind, w.accept, w.coupled = "uncoupled", "unreadable", False
    w.shares = [(1.0, [Slab(rng.uniform(3e-6, 20e-6), solid(1.48e6, 1482.0, 0, 5e6))])]
    return w


def add_coat(rng, kit, w):
    """Paint or thick filler on a wall."""
    w.coat = rng.uniform(40e-6, 150e-6) if rng.random() < 0.5 else rng.uniform(0.15e-3, 0.6e-3)
    coat = Slab(w.coat, solid(rng.uniform(2.4e6, 4.0e6), rng.uniform(2200, 2800),
                              rng.uniform(0.1, 0.4), kit.centre_hz))
    w.shares = [(share, [coat] + slabs) for share, slabs in w.shares]
    return w


def coated(rng, kit):
    """A good wall under a coat."""
    w = add_coat(rng, kit, sound(rng, kit))
    w.kind, w.accept = "coated", "no-indication|undecided"
    return w


def coated_glue(rng, kit):
    """A glue line under a coat."""
    w = add_coat(rng, kit, glue(rng, kit))
    w.kind, w.accept = "coated-glue", "inner-echo|undecided"
    return w


def coated_gap(rng, kit):
    """A delamination under a coat."""
    w = add_coat(rng, kit, (shadow if rng.random() < 0.4 else part_gap)(rng, kit))
    w.kind, w.accept = "coated-gap", "delamination|undecided"
    return w


SETS = {
    "plain": (10e6, (2e-3, 5e-3), 0.3, 0.10,
              [(sound, 0.30), (interface, 0.15), (shadow, 0.15), (part_gap, 0.15),
               (thin, 0.10), (porous, 0.10), (uncoupled, 0.05)]),
    "hard": (5e6, (1.6e-3, 3.2e-3), 0.2, 0.07,
             [(sound, 0.19), (coated, 0.09), (interface, 0.06), (thin_sleeve, 0.03),
              (glue, 0.11), (shadow, 0.07), (part_gap, 0.13), (step_gap, 0.03),
              (disbond, 0.10), (wet_gap, 0.06), (coated_gap, 0.03), (coated_glue, 0.02),
              (porous, 0.06), (thin, 0.01), (uncoupled, 0.01)]),
}

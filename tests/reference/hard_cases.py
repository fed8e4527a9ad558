"""The hard set: 5 MHz on walls of 1.6 to 3.2 mm.

Glue lines, top coats, disbonded sleeves, wet gaps, porosity, partial cover from
0.2, beside the classes of the plain set.
"""

import numpy as np

import layered as ly
from layered import Layer
from wall_cases import (Case, WallSet, carbon, full_gap, interface, make_laminate,
                        nominal_of, part_gap, porous, sound, split, thin, uncoupled)

WATER_VELOCITY = 1482.4


def glass(rng, thickness):
    """A glass-fibre sleeve, near the carbon's impedance."""
    return [Layer(thickness, rng.uniform(4.4e6, 5.8e6), rng.uniform(2700, 3100),
                  ly.loss_from_db(rng.uniform(0.05, 0.15)))]


def layer_strength(layer, above, below, setup):
    """|R| at the centre frequency of one layer between two half-spaces."""
    omega = np.array([setup.omega0])
    return float(abs(ly.reflection([layer], above, below, omega, setup.omega0)[0]))


def glue_line(rng, setup, opt):
    """Carbon on a sleeve of glass or carbon, with glue that can be seen."""
    lam, d = make_laminate(rng), rng.uniform(*setup.set.walls)
    depth, h = d * rng.uniform(0.3, 0.75), rng.uniform(20e-6, 150e-6)
    glue = [Layer(h, rng.uniform(2.7e6, 3.3e6), rng.uniform(2400, 2600),
                  ly.loss_from_db(rng.uniform(0.2, 0.4)))]
    outer, rest = carbon(rng, lam, depth), d - depth - h
    sleeve = glass(rng, rest) if rng.random() < 0.6 else carbon(rng, lam, rest)
    strength = layer_strength(glue[0], lam.impedance, sleeve[0].impedance, setup)
    return Case("glue", "inner-echo", [(1.0, outer + glue + sleeve, ly.AIR)],
                [outer, glue, sleeve], d, depth, strength=strength,
                nominal=nominal_of(rng, d), glue=h)


def disbond(rng, setup, opt):
    """A sleeve that has come off, wholly or under part of the beam."""
    lam, d = make_laminate(rng), rng.uniform(*setup.set.walls)
    depth = d * rng.uniform(0.3, 0.8)
    outer, sleeve = carbon(rng, lam, depth), glass(rng, d - depth)
    cover = 1.0 if rng.random() < 0.4 else rng.uniform(setup.set.least_cover, 0.9)
    nominal = nominal_of(rng, d)
    paths = [(cover, outer, ly.AIR)]
    if cover < 1:
        paths.append((1 - cover, outer + sleeve, ly.AIR))
    # A lone echo beyond 0.7 of the nominal may be a thin wall as well.
    beyond = cover == 1 and depth > 0.68 * nominal
    return Case("disbond", "delamination|undecided" if beyond else "delamination",
                paths, [outer, sleeve], d, depth, cover, -cover, nominal)


def wet_gap(rng, setup, opt):
    """A delamination filled with water: it may look like any inner layer."""
    case = sound(rng, setup, opt)
    wall = case.sections[0]
    upper, lower, case.depth = split(wall, case.thickness * rng.uniform(0.25, 0.7))
    case.gap = rng.uniform(5e-6, 50e-6)
    water = Layer(case.gap, ly.WATER, WATER_VELOCITY)
    case.paths = [(1.0, upper + [water] + lower, ly.AIR)]
    case.kind, case.accept, case.cover = "wet-gap", "delamination|inner-echo", 1.0
    case.strength = layer_strength(water, upper[0].impedance, upper[0].impedance, setup)
    return case


def add_coat(rng, case):
    """Filler or paint on a wall; the wall's own figures stay."""
    case.coat = rng.uniform(50e-6, 400e-6)
    coat = Layer(case.coat, rng.uniform(2.6e6, 3.8e6), rng.uniform(2300, 2700),
                 ly.loss_from_db(rng.uniform(0.1, 0.3)))
    case.paths = [(share, [coat] + layers, end) for share, layers, end in case.paths]
    return case


def coated(rng, setup, opt):
    """A good wall under a coat."""
    case = add_coat(rng, sound(rng, setup, opt))
    case.kind, case.accept = "coated", "no-indication|undecided"
    return case


def coated_gap(rng, setup, opt):
    """A delamination under a coat."""
    build = full_gap if rng.random() < 0.4 else part_gap
    case = add_coat(rng, build(rng, setup, opt))
    case.kind, case.accept = "coated-gap", "delamination|undecided"
    return case


HARD = WallSet(5e6, (1.6e-3, 3.2e-3), 0.2, 0.07,
               [(sound, 0.20), (coated, 0.10), (interface, 0.06), (glue_line, 0.12),
                (full_gap, 0.08), (part_gap, 0.14), (disbond, 0.10), (wet_gap, 0.06),
                (coated_gap, 0.04), (porous, 0.06), (thin, 0.02), (uncoupled, 0.02)])

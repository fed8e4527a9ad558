"""Waves in a lossless stack by finite differences in time, to check layered.py.

Newton's law at the nodes and Hooke's law in the cells of a staggered grid, no
reflection coefficient anywhere.  Each cell is as long as sound goes in one time
step, where the scheme has no numerical dispersion (Courant number 1; common
practice, from memory).  With v at the nodes and pressure p in the cells

    v += 2 (p_left - p_right) / (Z_left + Z_right)      p += Z (v_left - v_right)

because a cell's mass is Z dt and its stiffness Z / dt.
"""

import numpy as np


def reflected(above, layers, below, incident):
    """Pressure reflected by a stack, one value a time step.

    `layers` are pairs (impedance, travel time in steps); `above` and `below` are
    the impedances of the half-spaces; `incident` is the incident pressure at
    the top of the stack.
    """
    lead = 2                                 # cells of the half-spaces in the grid
    z = np.concatenate([np.full(lead, float(above)),
                        *[np.full(n, float(i)) for i, n in layers],
                        np.full(lead, float(below))])
    v, p = np.zeros(len(z) + 1), np.zeros(len(z))
    pull = 2.0 / (z[:-1] + z[1:])
    f = np.asarray(incident) / above         # incident particle velocity
    f = np.concatenate([[0.0], f])
    out = np.zeros(len(incident))
    for n in range(len(incident)):
        first, last = v[1], v[-2]
        v[1:-1] += pull * (p[:-1] - p[1:])
        before = f[n - 1] if n > 0 else 0.0
        v[0] = f[n + 1] + first - before     # what comes in, and what leaves
        v[-1] = last                         # what leaves below
        p += z * (v[:-1] - v[1:])
        out[n] = -above * (v[0] - f[n + 1])
    return out[2 * lead:]

"""Grouping, sizing and coverage of a scan against SciPy, plane geometry and beams in closed form.

Connected sets: scipy.ndimage.label, live. Sizing: the echo of a flaw under a round beam is the share of the
beam that it covers (a circle's segment, textbook plane geometry; a Gaussian beam's by scipy.special.erf);
at a straight edge that is a half, so the 6 dB drop lies on it.
"""

import subprocess
import sys

import numpy as np
from scipy import ndimage, special

PROBE = "tests/reference/scan_probe"
NONE, INNER, DELAMINATION, THIN, ATTENUATED, UNDECIDED, UNREADABLE = range(7)
failures = 0


def check(what, error, most):
    """Say how far we are from the reference; a NaN fails too."""
    global failures
    good = error <= most
    failures += not good
    print(f"{'ok  ' if good else 'FAIL'} {what}: {error:.3g} (at most {most:g})")


def probe(kind, diameter, beam, across, along, verdict, strength=None, depth=None, inner=None):
    """What the library makes of places, given as arrays of one shape: an array of lines."""
    zero = np.zeros(np.shape(across))
    columns = [across, along, verdict] + [zero if x is None else x for x in (strength, depth, inner)]
    columns = [np.broadcast_to(c, np.shape(across)).ravel() for c in columns]
    text = "".join(f"{a:.17g} {b:.17g} {int(v)} {s:.17g} {d:.17g} {i:.17g}\n"
                   for a, b, v, s, d, i in zip(*columns))
    run = subprocess.run([PROBE, kind, repr(diameter), repr(beam)], input=text, text=True,
                         capture_output=True)
    if run.returncode != 0:
        sys.exit(run.stderr)
    return np.array([[float(x) for x in line.split()] for line in run.stdout.splitlines()])


NAMES = ("kind places from_across to_across across arc arc_u from_along to_along along_u area "
         "within_beam next").split()


def indications(*args):
    return [dict(zip(NAMES, line)) for line in probe("indications", *args)]


# ---- connected sets ----

def same_sets(a, b):
    """Two labellings name the same sets: their names pair one to one, and 0 with 0."""
    pairs = {(0, 0)} | set(zip(a, b))
    return len(pairs) == len({p[0] for p in pairs}) == len({p[1] for p in pairs})


def scipy_labels(mask, closed):
    """ndimage.label, and on a closed tube the sets joined that touch across the seam."""
    labels, count = ndimage.label(mask, structure=np.ones((3, 3)))
    lead = list(range(count + 1))

    def first(k):
        while lead[k] != k:
            k = lead[k]
        return k

    rows = len(mask)
    for r in range(rows if closed else 0):
        for other in range(max(0, r - 1), min(rows, r + 2)):
            if labels[r, -1] and labels[other, 0]:
                a, b = sorted((first(labels[r, -1]), first(labels[other, 0])))
                lead[b] = a
    return np.array([first(k) for k in labels.ravel()])


def check_labels():
    rng = np.random.default_rng(20261)
    wrong = tried = 0
    for rows, columns in ((1, 24), (24, 1), (3, 3), (8, 24), (20, 48), (60, 7), (100, 90)):
        for share in (0.1, 0.3, 0.41, 0.5, 0.7, 0.95):
            for closed in (False, True):
                if closed and columns < 3:
                    continue
                mask = rng.random((rows, columns)) < share
                there = rng.random((rows, columns)) < 0.97   # some positions were left out
                there[:, 0] = there[0, :] = True             # each line keeps a place
                there[:3, :3] = True
                step = 360 / columns if closed else 2e-3
                across, along = np.meshgrid(step * np.arange(columns), 3e-3 * np.arange(rows))
                ours = probe("label", 30e-3 if closed else 0.0, 0.0, across[there], along[there],
                             mask[there])[:, 0]
                theirs = scipy_labels(mask & there, closed)[there.ravel()]
                wrong += not same_sets(ours, theirs)
                firsts = [k for i, k in enumerate(ours) if k and k not in ours[:i]]
                wrong += firsts != sorted(firsts)   # in the order of their first places
                tried += 1
    check(f"{tried} random masks grouped other than by scipy.ndimage.label", wrong, 0)


# ---- sizing ----

def covered_by_half_plane(x):
    """Share of a uniform round beam of diameter 1, its middle x inside a straight edge."""
    h = np.clip(-2 * x, -1, 1)
    return (np.arccos(h) - h * np.sqrt(1 - h * h)) / np.pi


def uniform_strip(x, width, beam):
    """Share of the beam over a strip from 0 to width, its middle at x."""
    return covered_by_half_plane(x / beam) - covered_by_half_plane((x - width) / beam)


def gaussian_strip(x, width, beam):
    """The same with a sensitivity that falls to half (-6 dB) at half the beam's width."""
    scale = 2 * np.sqrt(np.log(2)) / beam
    return 0.5 * (special.erf(scale * x) - special.erf(scale * (x - width)))


def size_of_strip(strip, width, beam, pitch, offset, vertical):
    """Scan a strip on a plate; its edges at `offset` and `offset + width` beyond the place at 0."""
    count = int((width + 4 * beam) / pitch) + 4
    x = pitch * (np.arange(count) - int(2 * beam / pitch) - 1)
    profile = strip(x - offset, width, beam)
    across, along = np.meshgrid(x, pitch * np.arange(int(2 * beam / pitch) + 4))
    strength = np.broadcast_to(profile, across.shape)
    verdict = np.where(strength >= 0.2, DELAMINATION, NONE)   # the least cover that is told
    if vertical:
        across, along = along, across
    found = indications(0.0, beam, across, along, verdict, strength, 1e-3, strength)
    if len(found) != 1:
        sys.exit(f"a strip of {width} was found {len(found)} times")
    f = found[0]
    if vertical:
        return f["from_along"], f["to_along"], f["along_u"], f["within_beam"]
    return f["from_across"], f["to_across"], f["arc_u"], f["within_beam"]


def check_wide_flaws():
    """Wider than the beam: the drop to half lies on the edges, at whatever offset of the raster."""
    beam = 3e-3
    for name, strip in (("uniform", uniform_strip), ("Gaussian", gaussian_strip)):
        for pitch, most in ((0.25e-3, 0.005), (0.5e-3, 0.015), (1e-3, 0.06), (2e-3, 0.16), (5e-3, 0.5)):
            errors, normal, small = [], [], 0
            for k in range(20):
                offset, width = pitch * (k + 0.3) / 20, 10e-3 + 0.37 * pitch * k
                start, end, u, within = size_of_strip(strip, width, beam, pitch, offset, k % 2)
                errors += [start - offset, end - offset - width]
                normal.append((end - start - width) / u)
                small += within
            worst = np.max(np.abs(errors))
            check(f"edges of wide flaws, {name} beam of 3 mm, pitch {1e3 * pitch:g} mm: worst in pitches",
                  worst / pitch, most)
            check("    rms of the extent's error over its stated u", np.sqrt(np.mean(np.square(normal))),
                  1.1)
            check("    called no wider than the beam", small, 0 if pitch < 5e-3 else 20)


def check_narrow_flaws():
    """Narrower than the beam: its own shape is what is sized, and the result says so."""
    beam, pitch = 3e-3, 0.25e-3
    # a strip of 1 mm under the Gaussian beam falls below what is told before it falls to half
    for width, name, strip in ((1e-3, "uniform", uniform_strip), (1.5e-3, "uniform", uniform_strip),
                               (2e-3, "uniform", uniform_strip), (1.5e-3, "Gaussian", gaussian_strip),
                               (2e-3, "Gaussian", gaussian_strip)):
        x = np.linspace(-5e-3, 8e-3, 130001)   # where the closed form falls to half its highest
        profile = strip(x, width, beam)
        half = x[profile >= 0.5 * profile.max()]
        start, end, _, within = size_of_strip(strip, width, beam, pitch, 0.4 * pitch, False)
        check(f"flaw of {1e3 * width:g} mm, {name} beam of 3 mm: extent against the profile's own, mm",
              1e3 * abs((end - start) - (half[-1] - half[0])), 0.06)
        check("    not called within the beam", 1 - within, 0)
    point = gaussian_strip(np.array([0.5e-6 + 0.5 * beam]), 1e-6, beam) / gaussian_strip(
        np.array([0.5e-6]), 1e-6, beam)
    check("a point under a Gaussian beam: fall at half its width, against a half", abs(point[0] - 0.5), 1e-6)


def check_round_tube():
    """A rectangle through 0 degrees: arcs are angles times the radius at its depth."""
    radius, depth, beam = 15e-3, 1.2e-3, 3e-3
    across, along = np.meshgrid(np.arange(48) * 7.5, 1.5e-3 * np.arange(20))
    rectangle = lambda x, width, y, height: (   # a Gaussian beam falls apart into both directions
        gaussian_strip(x, width, beam) * gaussian_strip(y, height, beam))
    from_deg, width_deg, from_along, height = 341.0, 52.0, 8e-3, 11e-3
    x = np.radians((across - from_deg + 90) % 360 - 90) * radius
    strength = rectangle(x, np.radians(width_deg) * radius, along - from_along, height)
    verdict = np.where(strength >= 0.2, DELAMINATION, NONE)
    found = indications(2 * radius, beam, across, along, verdict, strength, depth, strength)
    check("a flaw through 0 degrees: times found, less one", abs(len(found) - 1), 0)
    f = found[0]
    arc = np.radians(width_deg) * (radius - depth)
    for what, value, truth, pitch in (
            ("from", f["from_across"], from_deg, 7.5),
            ("to", f["to_across"], (from_deg + width_deg) % 360, 7.5),
            ("arc", f["arc"], arc, np.radians(7.5) * (radius - depth)),
            ("from along", f["from_along"], from_along, 1.5e-3),
            ("to along", f["to_along"], from_along + height, 1.5e-3)):
        check(f"    {what}: error in spacings", abs(value - truth) / pitch, 0.1)
    check("    arc over angle and radius, less 1",
          abs(f["arc"] / (np.radians(f["across"]) * (radius - depth)) - 1), 1e-12)
    check("    area, relative (the beam rounds its corners off)", abs(f["area"] / (arc * height) - 1), 0.08)


def check_distances():
    """Full reflectors with edges half way between places: distances by the coordinates of their boxes."""
    radius = 20e-3
    across, along = np.meshgrid(np.arange(36) * 10.0, 4e-3 * np.arange(12))
    verdict = np.zeros(across.shape, int)
    verdict[1:3, [34, 35, 0]] = THIN          # 335 to 5 degrees, 2 to 10 mm
    verdict[6:8, 2:4] = ATTENUATED            # 15 to 35 degrees, 22 to 30 mm
    verdict[1, 20] = UNDECIDED                # 195 to 205 degrees, 2 to 6 mm
    found = indications(2 * radius, 3e-3, across, along, verdict)
    near = np.hypot(np.radians(10) * radius, 12e-3)
    far = np.radians(130) * radius
    truth = {THIN: near, ATTENUATED: near, UNDECIDED: far}
    check("distances to the next indication, m", max(abs(f["next"] - truth[f["kind"]]) for f in found),
          1e-12)


# ---- coverage ----

def count_by_hand(x, y, read, beam, box, fine=1000):
    """Share of a box within beam / 2 of a place, and the furthest from all, on a raster."""
    gx, gy = np.meshgrid(box[0] + (np.arange(fine) + 0.5) * (box[1] - box[0]) / fine,
                         box[2] + (np.arange(fine) + 0.5) * (box[3] - box[2]) / fine)
    seen = np.zeros(gx.shape, bool)
    distance = np.full(gx.shape, np.inf)
    for a, b in zip(x[read], y[read]):
        d = np.hypot(gx - a, gy - b)
        seen |= d <= beam / 2
        distance = np.minimum(distance, d)
    return seen.mean(), distance.max()


def share_of_beam(beam, flaw, apart, fine=1201):
    """Share of a beam that a round flaw covers, counted."""
    t = (np.arange(fine) + 0.5) / fine * beam - beam / 2
    x, y = np.meshgrid(t, t)
    inside = x * x + y * y <= beam * beam / 4
    return np.mean((x[inside] - apart) ** 2 + y[inside] ** 2 <= flaw * flaw / 4)


def check_coverage():
    rng = np.random.default_rng(5)
    for beam, p, q in ((6e-3, 5e-3, 4e-3), (3e-3, 5e-3, 4e-3), (4.5e-3, 3e-3, 5e-3), (9e-3, 4e-3, 4e-3)):
        x, y = (a.ravel() for a in np.meshgrid(p * np.arange(7), q * np.arange(6)))
        for missed in (0, 5):
            read = np.ones(42, bool)
            read[rng.permutation(42)[:missed]] = False
            area, share, unseen, *at = probe("coverage", 0.0, beam, x, y,
                                             np.where(read, NONE, UNREADABLE))[0]
            box = (-p / 2, 6.5 * p, -q / 2, 5.5 * q)
            by_hand, apart = count_by_hand(x, y, read, beam, box)
            name = f"beam {1e3 * beam:g} on {1e3 * p:g} x {1e3 * q:g} mm, {missed} missed"
            check(f"{name}: area, relative", abs(area / (42 * p * q) - 1), 1e-12)
            check("    share against a finer count", abs(share - by_hand), 0.002)
            if missed == 0:
                check("    distance against half the diagonal: share of the beam less a fifth",
                      abs(share_of_beam(beam, unseen, np.hypot(p, q) / 2) - 0.2), 0.002)
            else:
                nearest = np.min(np.hypot(x[read] - at[0], y[read] - at[1]))
                check("    share of the nearest beam that it covers, less a fifth",
                      abs(share_of_beam(beam, unseen, nearest) - 0.2), 0.002)
                bound = 0.5 * np.hypot(box[1] - box[0], box[3] - box[2]) / 1000 + 1e-3 * apart
                check("    distance to a place read against the furthest of a raster, over its step",
                      abs(nearest - apart) / bound, 1)
            if missed == 0 and beam <= min(p, q):
                check("    beams that do not touch: share against n pi b^2 / 4 over the area",
                      abs(share - 42 * np.pi * beam ** 2 / 4 / area), 0.001)


if __name__ == "__main__":
    check_labels()
    check_wide_flaws()
    check_narrow_flaws()
    check_round_tube()
    check_distances()
    check_coverage()
    sys.exit(failures > 0)

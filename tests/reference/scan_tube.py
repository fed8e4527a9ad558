#!/usr/bin/python3
"""A whole carbon tube, ring by ring, with its truth, made apart from libplyecho.

    scan_tube.py --out DIR [--seed 1] [--snr 40] [--hz 10e6] [--beam face|gauss]
                 [--declare-sleeve] [--small-flaws] [--single] [--format wav|csv]

writes DIR/manifest.csv, the traces (a file a ring, or with --single a place),
DIR/pulse.wav (the delay line's end in air), DIR/procedure.ini and DIR/truth.json.

48 angles by 20 rings on a tube of 28.6 mm with three delaminations, a sleeve
of glass fibre glued under two fifths of the rings, dry places, and a wall that
varies smoothly.  With --small-flaws there are as well delaminations and disbonds
of the sleeve that fill a small part of the beam.  What the beam covers of a flaw is integrated over the beam on
the unrolled surface, and the trace is the sum of what its parts return.  The
physics is in layered.py; materials and shapes are synthetic (common practice,
no source).
"""

import argparse
import csv
import dataclasses
import json
import os

import numpy as np

import layered as ly
from independent_sim import (JITTER_DB, REFERENCE_PEAK, VELOCITY_U, digitise, nuisance,
                             reflect, rf_peak, write_csv, write_wav)
from layered import Layer
from wall_cases import PLAIN, RESIN, Case, make_setup

ANGLES, RINGS = 48, 20
DIAMETER, FIRST_RING, PITCH = 28.6e-3, 10e-3, 2e-3
BEAM = 3e-3
NOMINAL, LEAST = 3.2e-3, 3.0e-3
PLIES = 16
SLEEVE_FROM = FIRST_RING + 11.5 * PITCH     # half way between two rings
GLUE = Layer(0.12e-3, 3.1e6, 2650.0, ly.loss_from_db(0.3))
GLASS = Layer(1.1e-3, 5.3e6, 2790.0, ly.loss_from_db(0.1))
# (plies above, diameter, degrees, m): 16 plies deep the sleeve is disbonded
SMALL = [(2, 1.4e-3, 37.5, 14e-3), (4, 1.6e-3, 150.0, 14e-3), (6, 1.4e-3, 195.0, 14e-3),
         (8, 1.2e-3, 255.0, 14e-3), (10, 1.4e-3, 345.0, 14e-3), (12, 1.6e-3, 52.5, 26e-3),
         (14, 1.6e-3, 150.0, 26e-3), (5, 1.2e-3, 285.0, 26e-3), (9, 1.6e-3, 330.0, 26e-3),
         (16, 1.8e-3, 60.0, 40e-3), (16, 2.2e-3, 120.0, 40e-3), (16, 3.0e-3, 180.0, 40e-3),
         (8, 1.8e-3, 225.0, 40e-3), (16, 2.0e-3, 285.0, 40e-3)]
DRY = [(4, 2), (23, 9), (35, 14), (20, 6), (21, 6), (22, 6)]    # (column, ring)


@dataclasses.dataclass
class Flaw:
    """A delamination: an ellipse round a centre, its axes at its own depth."""
    name: str
    ply: int                 # under this many plies
    arc: float               # m, whole axes
    axial: float
    angle_deg: float
    along: float             # m

    def depth(self):
        """At the nominal wall, in m."""
        return NOMINAL * self.ply / PLIES

    def half_angle(self):
        """In rad, seen from the tube's axis."""
        return 0.5 * self.arc / (0.5 * DIAMETER - self.depth())

    def covers(self, angle_deg, along):
        """Whether points of the surface lie over the flaw."""
        turn = np.radians((angle_deg - self.angle_deg + 180.0) % 360.0 - 180.0)
        return (turn / self.half_angle()) ** 2 + (2 * (along - self.along) / self.axial) ** 2 < 1

    def as_truth(self):
        """Its outline, as truth.json has it."""
        half = np.degrees(self.half_angle())
        return {"name": self.name, "depth_mm": 1e3 * self.depth(),
                "from_deg": (self.angle_deg - half) % 360, "to_deg": (self.angle_deg + half) % 360,
                "width_deg": 2 * half, "arc_mm": 1e3 * self.arc, "axial_mm": 1e3 * self.axial,
                "from_axial_mm": 1e3 * (self.along - self.axial / 2),
                "to_axial_mm": 1e3 * (self.along + self.axial / 2),
                "area_mm2": 1e6 * np.pi / 4 * self.arc * self.axial,
                "over_sleeve": bool(self.along > SLEEVE_FROM)}


class Tube:
    """What the places of one tube have in common."""

    def __init__(self, opt):
        rng = np.random.default_rng([opt.seed, 0])
        self.setup = make_setup(rng, dataclasses.replace(PLAIN, carrier=opt.hz))
        self.impedance = 4.65e6 * (1 + 0.01 * rng.standard_normal())
        self.velocity = rng.uniform(2820, 3080)
        self.loss = ly.loss_from_db(rng.uniform(0.05, 0.15))
        self.resin = rng.uniform(3e-6, 5e-6)
        self.ply = 1 + 0.02 * rng.standard_normal(PLIES)
        self.thick_side = rng.uniform(80, 160)          # the hollow is opposite
        turn, shift = rng.uniform(-3.5, 3.5), rng.uniform(-PITCH / 2, PITCH / 2)
        self.flaws = [Flaw("large", 6, 9e-3, 8e-3, 95 + turn, 20.5e-3 + shift),
                      Flaw("long, over the sleeve", 10, 12e-3, 5e-3, (358 + turn) % 360,
                           41e-3 + shift),
                      Flaw("as wide as the beam", 8, 3.5e-3, 3.5e-3, 221 + turn, 25.3e-3 + shift)]
        self.small = [Flaw(f"small {k + 1}", ply, size, size, angle + turn / 2, along + shift / 2)
                      for k, (ply, size, angle, along) in enumerate(SMALL)] * opt.small_flaws
        self.sleeve_from = SLEEVE_FROM + 1e-3 * opt.sleeve_shift
        self.told_error = (VELOCITY_U * np.clip(rng.standard_normal(), -3, 3),
                           0.05 * rng.standard_normal())
        self.points, self.weights = beam_points(opt.beam)

    def wall(self, angle_deg, along):
        """Of the carbon: eccentric, rising along the tube, with one shallow hollow."""
        x = (angle_deg - 300.0 + 180.0) % 360.0 - 180.0
        hollow = ((np.radians(x) * DIAMETER / 2) / 6e-3) ** 2 + ((along - 16e-3) / 5e-3) ** 2
        return (NOMINAL + 0.05e-3 * np.cos(np.radians(angle_deg - self.thick_side))
                + 1e-3 * (along - 28e-3) + 0.01e-3 * np.sin(along / 5e-3)
                - 0.07e-3 * np.exp(-hollow / 2))

    def share(self, inside, angle_deg, along):
        """Of the beam that lies where `inside` holds."""
        x, y = self.points
        hit = inside(angle_deg + np.degrees(x / (DIAMETER / 2)), along + y)
        return round(float(np.sum(self.weights[hit])), 6)

    def plies(self, rng, thickness):
        """The tube's laminate where it is this thick, a little uneven."""
        resin = np.clip(self.resin * (1 + 0.2 * rng.standard_normal(PLIES - 1)), 2e-6, 6e-6)
        ply = self.ply * (1 + 0.02 * rng.standard_normal(PLIES))
        ply *= (thickness - resin.sum()) / ply.sum()
        layers = [Layer(ply[0], self.impedance, self.velocity, self.loss)]
        for i in range(1, PLIES):
            layers.append(Layer(resin[i - 1], *RESIN, self.loss))
            layers.append(Layer(ply[i], self.impedance, self.velocity, self.loss))
        return layers

    def sleeve(self, angle_deg):
        """Glue and glass, the glue a little thicker on one side."""
        uneven = np.sin(np.radians(angle_deg))
        return [GLUE._replace(thickness=GLUE.thickness + 0.015e-3 * uneven),
                GLASS._replace(thickness=GLASS.thickness + 0.01e-3 * uneven)]


def beam_points(kind):
    """Points of the beam and their weights: a uniform face, or a Gaussian of that -6 dB width."""
    reach = 0.5 * BEAM * (1.0 if kind == "face" else 3.2)
    axis = np.linspace(-reach, reach, 241)
    x, y = (a.ravel() for a in np.meshgrid(axis, axis))
    r = np.hypot(x, y) / (0.5 * BEAM)
    weight = np.where(r <= 1, 1.0, 0.0) if kind == "face" else 0.5 ** (r ** 2)
    return (x, y), weight / weight.sum()


def place_case(tube, rng, angle_deg, along):
    """The wall at a place as shares of the beam, and what is true of it."""
    thickness = tube.wall(angle_deg, along)
    wall = tube.plies(rng, thickness)
    on_sleeve = tube.share(lambda a, z: z > tube.sleeve_from, angle_deg, along)
    truth = {"carbon_mm": 1e3 * thickness, "sleeve": on_sleeve, "eta": 0.0, "flaw": None}
    layers, paths = tube.sleeve(angle_deg), []
    rest = 1.0
    for flaw in tube.flaws + tube.small:
        eta = tube.share(flaw.covers, angle_deg, along)
        if eta > 0:
            upper = wall[:2 * flaw.ply - 1]
            paths.append((eta, upper, ly.AIR))
            rest -= eta
        if eta > truth["eta"]:
            truth.update(eta=eta, flaw=flaw.name,
                         depth_mm=1e3 * sum(layer.thickness for layer in upper))
    paths += [(rest * on_sleeve, wall + layers, ly.AIR), (rest * (1 - on_sleeve), wall, ly.AIR)]
    total = thickness + sum(layer.thickness for layer in layers)
    truth["wall_mm"] = 1e3 * (total if on_sleeve > 0.5 else thickness)
    return Case("place", "", [p for p in paths if p[0] > 0], [wall], thickness), truth


def record(rng, tube, gamma, trip, noise, wanted, start):
    """One trace, as the recorder has it."""
    setup = tube.setup
    wave = REFERENCE_PEAK * ly.to_record(
        ly.chain(gamma, setup.pulse, setup.line, setup.omega, setup.omega0, trip),
        setup.omega, start)
    return digitise(wave + nuisance(rng, setup, start, wanted), noise, rng)


def make_tube(opt):
    """The tube, its truth, the traces by place and the reference pulse."""
    tube = Tube(opt)
    setup, trip = tube.setup, tube.setup.line.round_trip
    rng = np.random.default_rng([opt.seed, 1])
    start = round((trip - 1.2e-6) * 1e9) * 1e-9
    sound = tube.plies(rng, NOMINAL)
    _, gamma = reflect(Case("", "", [(1.0, sound, ly.AIR)], [sound], NOMINAL), setup, 0.0)
    wanted = REFERENCE_PEAK * rf_peak(gamma, setup)
    noise = wanted * 10 ** (-opt.snr / 20)
    air = np.full(gamma.shape, (ly.AIR - setup.line.impedance) / (ly.AIR + setup.line.impedance),
                  complex)
    pulse = record(rng, tube, air, trip, noise / 4, wanted, start)
    places, traces = [], {}
    for ring in range(RINGS):
        for column in range(ANGLES):
            rng = np.random.default_rng([opt.seed, 2, ring, column])
            angle, along = column * 360.0 / ANGLES, FIRST_RING + ring * PITCH
            case, truth = place_case(tube, rng, angle, along)
            dry = (column, ring) in DRY
            gamma = air if dry else reflect(case, setup, JITTER_DB * rng.standard_normal())[1]
            late = 3e-9 * rng.standard_normal()
            traces[ring, column] = record(rng, tube, gamma, trip + late, noise, wanted, start)
            places.append({"angle_deg": angle, "axial_mm": round(1e3 * along, 6),
                           "coupled": not dry, **truth})
    told = ly.effective([sound], setup.pulse.spectrum, setup.omega, setup.omega0)
    truth = {
        "seed": opt.seed, "snr_db": opt.snr, "centre_mhz": setup.pulse.centre_hz / 1e6,
        "bandwidth": setup.pulse.bandwidth, "ring": str(setup.pulse.kind), "beam": opt.beam,
        "beam_mm": 1e3 * BEAM, "start_us": 1e6 * start, "pitch_deg": 360.0 / ANGLES,
        "pitch_mm": 1e3 * PITCH, "declared": opt.declare_sleeve,
        "true_velocity_m_s": told.velocity, "impedance_rayl": tube.impedance,
        "velocity_m_s": round(told.velocity + tube.told_error[0], 1),
        "attenuation_db_mm_mhz": round(ly.db_from_loss(told.loss) * (1 + tube.told_error[1]), 4),
        "sleeve": {"from_axial_mm": 1e3 * tube.sleeve_from, "depth_mm": 1e3 * NOMINAL},
        "flaws": [f.as_truth() for f in tube.flaws],
        "small_flaws": [f.as_truth() for f in tube.small], "least_wall": least(places), "places": places,
    }
    return truth, traces, pulse


def least(places):
    """The thinnest wall of a place that a trace can show, and where."""
    seen = [p for p in places if p["coupled"] and p["eta"] == 0 and p["sleeve"] == 0]
    thin = min(seen, key=lambda p: p["wall_mm"])
    return {k: thin[k] for k in ("wall_mm", "angle_deg", "axial_mm")}


# --- files -------------------------------------------------------------------

def procedure(truth, declare_sleeve):
    """What the user is told."""
    band = (max(0.2, 1 - 0.95 * truth["bandwidth"]) * truth["centre_mhz"],
            (1 + 0.95 * truth["bandwidth"]) * truth["centre_mhz"])
    z = 1e-6 * truth["impedance_rayl"]
    at = f"{truth['sleeve']['from_axial_mm']:.4g} to 60 mm"
    layers = [
        "", "[layers]", f"carbon = {1e3 * NOMINAL:.4g} mm, u 0.06 mm, {z:.3f} MRayl",
        f"glue = 0.12 mm, u 0.015 mm, 2650 m/s, u 50 m/s, 3.1 MRayl, 0.3 dB/mm/MHz, {at}",
        f"sleeve = 1.1 mm, u 0.02 mm, 2790 m/s, u 15 m/s, 5.3 MRayl, 0.1 dB/mm/MHz, {at}"]
    nominal = [] if declare_sleeve else [f"nominal_mm = {1e3 * NOMINAL:.4g}"]
    return "\n".join([
        "[part]", "name = simulated steerer tube", *nominal, "nominal_tolerance_mm = 0.32",
        f"diameter_mm = {1e3 * DIAMETER:.4g}", *PART_KEYS,
        "", "[equipment]", f"beam_mm = {1e3 * BEAM:.4g}", "",
        "[material]", f"velocity_m_s = {truth['velocity_m_s']}", f"velocity_u_m_s = {VELOCITY_U}",
        f"attenuation_db_mm_mhz = {truth['attenuation_db_mm_mhz']}", "",
        "[signal]", "mode = auto", f"band_hz = {band[0]:.2f}M:{band[1]:.2f}M", "pulse = pulse.wav",
        "", "[calibration]", "zero_us = 0", "zero_u_us = 0.002", "",
        "[acceptance]", f"least_mm = {1e3 * LEAST:.4g}", *(layers if declare_sleeve else []), ""])


PART_KEYS = ["zero_mark = saw cut at the crown race", "angle_direction = clockwise"]


def write_traces(opt, truth, traces):
    """The traces as files; each place learns its own."""
    write = write_wav if opt.format == "wav" else write_csv
    per_file = 1 if opt.single else ANGLES
    places = truth["places"]
    for first in range(0, len(places), per_file):
        some = places[first:first + per_file]
        name = f"ring{first // ANGLES + 1:02d}"
        if opt.single:
            name += f"-place{first % ANGLES + 1:02d}"
        for channel, place in enumerate(some, 1):
            place.update(file=f"{name}.{opt.format}", channel=channel)
        waves = [traces[divmod(first + k, ANGLES)] for k in range(len(some))]
        write(os.path.join(opt.out, some[0]["file"]), waves, truth["start_us"],
              [("full_scale", "1"), ("axial_mm", f"{some[0]['axial_mm']:g}"),
               *((f"angle_deg[{p['channel']}]" if len(some) > 1 else "angle_deg",
                  f"{p['angle_deg']:g}") for p in some)])


def write_tube(opt):
    """Make a tube under opt.out."""
    os.makedirs(opt.out, exist_ok=True)
    truth, traces, pulse = make_tube(opt)
    write_traces(opt, truth, traces)
    write_wav(os.path.join(opt.out, "pulse.wav"), pulse, truth["start_us"],
              [("full_scale", "1"), ("reference_reflection", "-1")])
    with open(os.path.join(opt.out, "manifest.csv"), "w", newline="", encoding="ascii") as f:
        table = csv.writer(f, lineterminator="\n")
        table.writerow(["file", "channel", "angle_deg", "axial_mm"])
        for p in truth["places"]:
            table.writerow([p["file"], p["channel"], f"{p['angle_deg']:g}", f"{p['axial_mm']:g}"])
    with open(os.path.join(opt.out, "procedure.ini"), "w", encoding="ascii") as f:
        f.write(procedure(truth, opt.declare_sleeve))
    with open(os.path.join(opt.out, "truth.json"), "w", encoding="ascii") as f:
        json.dump(truth, f, indent=1)


def parser():
    """The command line."""
    p = argparse.ArgumentParser(description=__doc__.split("\n", maxsplit=1)[0])
    p.add_argument("--out", default=None, metavar="DIR")
    p.add_argument("--seed", type=int, default=1)
    p.add_argument("--snr", type=float, default=40.0, metavar="DB")
    p.add_argument("--hz", type=float, default=10e6)
    p.add_argument("--beam", choices=["face", "gauss"], default="face")
    p.add_argument("--format", choices=["wav", "csv"], default="wav")
    p.add_argument("--single", action="store_true", help="a file a place")
    p.add_argument("--declare-sleeve", action="store_true")
    p.add_argument("--small-flaws", action="store_true")
    p.add_argument("--sleeve-shift", type=float, default=0.0, metavar="MM",
                   help="where the sleeve ends against half way between two rings")
    return p


def main():
    opt = parser().parse_args()
    if not opt.out:
        raise SystemExit("scan_tube.py: --out DIR is missing")
    write_tube(opt)


if __name__ == "__main__":
    main()

"""`plyecho plan` against closed forms and SciPy, worked out here by other ways.

Sources: near field and directivity of a circular piston (textbooks); Bilaniuk and Wong's polynomial of
water (JASA 93 (1993) 1609, 148 points); Rogers and Van Buren's diffraction; Rayleigh's integral; the traces
of `plyecho simulate`, which test_simulate.py holds against simulators of its own.
"""
import json
import os
import subprocess
import tempfile
import unittest

import numpy
from scipy import integrate, signal, special

PLYECHO = os.path.abspath("plyecho")
BILANIUK_WONG = [1.40238744e3, 5.03836171, -5.81172916e-2, 3.34638117e-4, -1.48259672e-6,
                 3.16585020e-9]


def plan(*arguments):
    result = subprocess.run([PLYECHO, "plan", "--format", "json", *arguments],
                            capture_output=True, text=True, check=True)
    rows = [json.loads(line) for line in result.stdout.splitlines()]
    return {row["quantity"]: row["value"] for row in rows}


def rayleigh(off, z, radius, k):
    """Pressure of a piston at (off, z): the surface integral over rings, the exact distance kept."""
    rho = (numpy.arange(240) + 0.5) / 240 * radius
    phi = (numpy.arange(72) + 0.5) / 72 * numpy.pi
    r, p = numpy.meshgrid(rho, phi)
    distance = numpy.sqrt(z**2 + off**2 + r**2 - 2 * r * off * numpy.cos(p))
    return abs(numpy.sum(numpy.exp(-1j * k * distance) / distance * r))


class Plan(unittest.TestCase):
    WALL = ["--layer", "carbon:3.2", "--probe", "10M:0.6"]

    def test_beam_is_that_of_rayleighs_integral(self):
        for face, line, mhz, bandwidth in ((6, 10, 10, 0.6), (3, 20, 5, 0.4), (4, 12, 7.5, 0.8)):
            row = plan("--layer", "carbon:3.2", "--probe", f"{mhz}M:{bandwidth}",
                       "--face-diameter", str(face), "--delay-line", f"pmma:{line}")
            z = line * 2680 / 2950 + 3.2
            self.assertAlmostEqual(row["path_mm"], z, places=6)
            wavelength = 2.950 / mhz
            self.assertAlmostEqual(row["near_field_mm"],
                                   (face**2 - wavelength**2) / (4 * wavelength), places=6)
            shifts = numpy.linspace(-0.8, 0.8, 9)
            off = numpy.linspace(0, 1.3 * face, 70)
            energy = 0
            for shift in shifts:
                k = 2 * numpy.pi * (1 + shift * bandwidth) / wavelength
                # Rayleigh's integral over velocity needs k in front; the pulse's amplitude squared
                p = numpy.array([k * rayleigh(x, z, face / 2, k) for x in off])
                energy = energy + 2.0 ** (-8 * shift**2) * p**4
            echo = numpy.sqrt(energy / energy.max())
            last = numpy.flatnonzero(echo >= 0.5)[-1]
            edge = numpy.interp(-0.5, -echo[last:last + 2], off[last:last + 2])
            self.assertLess(abs(row["beam_diameter_mm"] / (2 * edge) - 1), 0.03)

    def test_water_is_as_others_have_it(self):
        for temperature in (5, 15, 20, 25, 40, 60, 90):
            row = plan(*self.WALL, "--delay-line", "water:30", "--temperature", str(temperature))
            velocity = numpy.polynomial.polynomial.polyval(temperature, BILANIUK_WONG)
            self.assertLess(abs(60e-3 / (row["interface_us"] * 1e-6) - velocity), 0.03)

    def test_surface_and_spacing(self):
        row = plan(*self.WALL, "--face-diameter", "6", "--tube-diameter", "28.6", "--overlap", "0.5",
                   "--length", "180", "--delay-line", "pmma:10", "--temperature", "20")
        gap = 14.3 - numpy.sqrt(14.3**2 - 9)
        self.assertAlmostEqual(row["contact_gap_um"], 1e3 * gap, places=6)
        self.assertAlmostEqual(row["contact_gap_wavelengths"], gap / 0.148238, places=4)
        step = 0.5 * row["beam_diameter_mm"]
        self.assertAlmostEqual(row["axial_spacing_mm"], step, places=9)
        self.assertEqual(row["rings"], numpy.ceil(180 / step))
        self.assertEqual(row["places_per_ring"], numpy.ceil(numpy.pi * 28.6 / step))
        self.assertAlmostEqual(row["angle_step_deg"] * row["places_per_ring"], 360)

    def test_levels_are_those_of_simulated_traces(self):
        """The back wall and a sleeve's bond, read from traces with SciPy's envelope."""
        part = ["--layer", "carbon:3.2", "--layer", "epoxy:0.02", "--layer", "glass:2.0"]
        probe = ["--delay-line", "pmma:14", "--probe", "5M:0.6"]
        row = plan(*part, *probe)
        peaks = {}
        with tempfile.TemporaryDirectory() as folder:
            for name, what in (("part", part), ("air", ["--uncoupled"])):
                path = os.path.join(folder, name + ".csv")
                subprocess.run([PLYECHO, "simulate", *what, *probe, "-o", path], check=True)
                with open(path) as file:
                    lines = [line for line in file if not line.startswith("#")][1:]
                t, x = numpy.array([[float(v) for v in line.split(",")] for line in lines]).T
                peaks[name] = (t, abs(signal.hilbert(x)))
        t, envelope = peaks["part"]
        reference = peaks["air"][1].max()
        front = row["interface_us"]
        bond = front + 2 * 3.2 / 2.95
        back = front + row["wall_us"]
        for key, at in (("interface_1_db", bond), ("back_wall_db", back), ("interface_echo_db", front)):
            height = envelope[abs(t - at) < 0.2].max() / reference
            self.assertLess(abs(20 * numpy.log10(height) - row[key]), 0.3, key)

    def test_spread_is_rogers_and_van_burens(self):
        bare = plan(*self.WALL, "--delay-line", "pmma:10")
        face = plan(*self.WALL, "--delay-line", "pmma:10", "--face-diameter", "4")

        def d(s):
            x = 2 * numpy.pi / s
            return abs(1 - numpy.exp(-1j * x) * (special.j0(x) + 1j * special.j1(x)))

        line = 10 * 2680 / 2950
        ratio = d(2 * 0.295 * (line + 3.2) / 4) / d(2 * 0.295 * line / 4)
        self.assertAlmostEqual(face["back_wall_db"] - bare["back_wall_db"],
                               20 * numpy.log10(ratio), places=6)
        # and the formula itself is the mean of the field over the receiver (Fresnel, by quad)
        s = 2.0
        mean = sum(
            integrate.quad(lambda q: part(
                (2 * special.j1(q) ** 2 / q) * numpy.exp(-1j * s * q * q / (4 * numpy.pi))),
                0, 400, limit=4000)[0] * unit
            for part, unit in ((numpy.real, 1), (numpy.imag, 1j)))
        self.assertLess(abs(abs(mean) - d(s)), 2e-3)


if __name__ == "__main__":
    unittest.main()

#!/usr/bin/python3
"""Checks of the simulated tube itself, so that it may judge a scan."""

import os
import tempfile
import unittest

import numpy as np

import scan_tube as st


def tube(*words):
    """A tube without its traces."""
    return st.Tube(st.parser().parse_args(list(words)))


class BeamOnAnEdge(unittest.TestCase):
    """What a beam covers beyond a straight edge, against plane geometry."""

    def share(self, beam, off):
        """Of a beam whose centre is `off` metres from a straight edge."""
        return tube("--beam", beam).share(lambda a, z: z > off, 0.0, 0.0)

    def test_uniform_face(self):
        """The segment of a circle (its area: any book of tables; from memory)."""
        for x in (0.0, 0.3, 2 / 3, 0.9):
            segment = (np.arccos(x) - x * np.sqrt(1 - x * x)) / np.pi
            self.assertAlmostEqual(self.share("face", x * st.BEAM / 2), segment, delta=0.005)

    def test_gaussian(self):
        """Half of its height at half of its width: 76 % of the sum within the width."""
        self.assertAlmostEqual(self.share("gauss", -st.BEAM / 2)
                               - self.share("gauss", st.BEAM / 2), 0.761, delta=0.005)


class Flaws(unittest.TestCase):
    """The outlines are what the truth says."""

    def test_area_by_adding_up_the_beam(self):
        """Beams of weight 1 on a dense grid see a flaw's area, whatever their shape."""
        for beam in ("face", "gauss"):
            it = tube("--beam", beam)
            for flaw in it.flaws:
                turn = 1e3 * np.radians(1.0) * (st.DIAMETER / 2 - flaw.depth())
                seen = sum(it.share(flaw.covers, flaw.angle_deg + a, flaw.along + 1e-3 * z)
                           for a in np.arange(-50, 50, 2.0) for z in np.arange(-9, 9, 0.5))
                self.assertAlmostEqual(seen * 2.0 * turn * 0.5 / flaw.as_truth()["area_mm2"], 1.0,
                                       delta=0.02)

    def test_through_zero(self):
        long = tube().flaws[1]
        self.assertTrue(long.covers(359.0, long.along) and long.covers(1.0, long.along))
        self.assertGreater(long.as_truth()["from_deg"], long.as_truth()["to_deg"])

    def test_apart_from_dry_places(self):
        """A dry place within a flaw would leave its truth unseen."""
        it = tube()
        for column, ring in st.DRY:
            for flaw in it.flaws:
                self.assertEqual(it.share(flaw.covers, column * 7.5,
                                          st.FIRST_RING + ring * st.PITCH), 0.0)


class Walls(unittest.TestCase):
    """The walls are above the limit, the thinnest in the hollow."""

    def test_least(self):
        for seed in ("1", "2", "3"):
            it = tube("--seed", seed)
            walls = {(a, z): it.wall(7.5 * a, st.FIRST_RING + z * st.PITCH)
                     for a in range(st.ANGLES) for z in range(st.RINGS)}
            angle, ring = min(walls, key=walls.get)
            self.assertGreater(walls[angle, ring], st.LEAST + 0.04e-3)
            self.assertLess(abs(7.5 * angle - 300.0), 16)
            self.assertLess(abs(ring - 3), 2)

    def test_beams_see_both_sides_of_the_sleeves_end(self):
        """Half way between two rings the end is 1 mm off: 11 % of a face of 3 mm."""
        it = tube()
        for along, share in ((32e-3, 0.1095), (34e-3, 0.8905), (36e-3, 1.0), (30e-3, 0.0)):
            on = it.share(lambda a, z: z > it.sleeve_from, 40.0, along)
            self.assertAlmostEqual(on, share, delta=0.005)


class Files(unittest.TestCase):
    """One ring's files name their places."""

    def test_manifest_and_channels(self):
        rings, st.RINGS = st.RINGS, 1
        try:
            with tempfile.TemporaryDirectory() as folder:
                st.write_tube(st.parser().parse_args(["--out", folder]))
                with open(os.path.join(folder, "manifest.csv"), encoding="ascii") as f:
                    lines = f.read().split("\n")
                self.assertEqual(lines[:3], ["file,channel,angle_deg,axial_mm",
                                             "ring01.wav,1,0,10", "ring01.wav,2,7.5,10"])
                self.assertEqual(len(lines), 1 + st.ANGLES + 1)
                size = os.path.getsize(os.path.join(folder, "ring01.wav"))
                self.assertGreater(size, 2 * 2048 * st.ANGLES)
        finally:
            st.RINGS = rings


if __name__ == "__main__":
    unittest.main()

#!/usr/bin/python3
"""Declared layers, on walls of a simulator that shares nothing with the library.

The bounds follow from statistics: of n layers whose errors have the stated
standard uncertainty, 0.95 lie within two of them; fewer than the bound happen
once in a thousand such runs (binomial distribution).  Of walls as declared,
0.05 have a layer that is declared more than two uncertainties wrong; those are
flagged, and rightly.
"""

import os
import unittest

from scipy.stats import binom

import layer_cases as lc

PLYECHO = os.path.abspath("plyecho")


def least(n, share):
    """So many of n at least, but for one run in a thousand."""
    return binom.ppf(1e-3, n, share)


def run(only, count=30, **more):
    """Answers on walls of the hard set, 34 dB."""
    return list(lc.answers(PLYECHO, "hard", only, count, 34.0, False, **more))


class AsDeclared(unittest.TestCase):
    """Walls that are what was declared of them."""

    def check(self, found, share=0.90):
        errors = [e for a in found for e in lc.errors(a).values()]
        within = sum(abs(e) < 2 * u for e, u in errors)
        self.assertGreater(len(errors), 1.5 * len(found))
        self.assertGreaterEqual(within, least(len(errors), 0.95))
        bonded = [a for a in found if a["verdict"] == "inner-echo"]
        quiet = sum(not a["flagged"] for a in bonded)
        self.assertGreater(len(bonded), 0.8 * len(found))
        self.assertGreaterEqual(quiet, least(len(bonded), share))
        for a in found:
            self.assertEqual(a["status"], int(a["flagged"]))

    def test_bonded_sleeve(self):
        self.check(run("interface"))

    def test_glue_line(self):
        found = run("glue_line")
        self.check(found)
        for a in found:      # a glue line is thinner than the pulse: never guessed
            self.assertEqual([l["thickness_mm"] for l in a["layers"] if l["name"] == "glue"],
                             [None])

    def test_without_impedances(self):
        # A quarter has odds below 3 to 1 against a delamination, and stays flagged.
        found = run("interface", impedances=False)
        self.check(found, 0.70)
        for a in found:
            if a["next_best"] == "delamination" and a["evidence_ratio"] < 3:
                self.assertTrue(a["flagged"])


class NotAsDeclared(unittest.TestCase):
    """Walls with something else in them: every echo inside is flagged."""

    def test_interface_elsewhere(self):
        def elsewhere(sections):
            (d1, z1, s1), (d2, z2, s2) = sections
            shift = 0.25 * min(d1, d2)
            return [(d1 + shift, z1, s1), (d2 - shift, z2, s2)]
        for a in run("interface", told_as=elsewhere):
            if a["verdict"] == "inner-echo":
                self.assertTrue(a["flagged"], a["words"])

    def test_other_sleeve(self):
        def other(sections):
            (d1, z1, s1), (d2, z2, s2) = sections
            return [(d1, z1, s1), (d2, z1 * z1 / z2, s2)]     # the sign turned round
        found = [a for a in run("interface", told_as=other) if a["verdict"] == "inner-echo"]
        self.assertGreaterEqual(sum(a["flagged"] for a in found), least(len(found), 0.9))

    def test_disbond_is_said(self):
        found = [a for a in run("disbond") if a["verdict"] == "delamination"]
        said = sum("a disbond of sleeve from carbon" in a["words"] for a in found)
        self.assertGreater(len(found), 15)
        self.assertGreaterEqual(said, least(len(found), 0.85))
        self.assertTrue(all(a["flagged"] for a in found))


if __name__ == "__main__":
    unittest.main()

#!/usr/bin/python3
"""A scan of a whole simulated tube, held against its truth.

scan_tube.py shares no code with the library; score_scan.py says what must hold.
The same traces are scanned with the sleeve declared and without.
"""

import json
import os
import tempfile
import unittest

import scan_tube
import score_scan


class Tube:
    """A simulated tube, scanned with its sleeve declared and without."""

    words = []      # for scan_tube.py
    least_lines = 20

    @classmethod
    def setUpClass(cls):
        cls.folder = tempfile.TemporaryDirectory()
        cls.tube = os.path.join(cls.folder.name, "tube")
        scan_tube.write_tube(scan_tube.parser().parse_args(["--out", cls.tube, *cls.words]))

    @classmethod
    def tearDownClass(cls):
        cls.folder.cleanup()

    def declare(self, declared):
        """Rewrite the procedure, and what the truth says of it."""
        path = os.path.join(self.tube, "truth.json")
        with open(path, encoding="ascii") as f:
            truth = json.load(f)
        truth["declared"] = declared
        with open(path, "w", encoding="ascii") as f:
            json.dump(truth, f)
        with open(os.path.join(self.tube, "procedure.ini"), "w", encoding="ascii") as f:
            f.write(scan_tube.procedure(truth, declared))

    def scan(self, declared):
        """All checks, their lines printed."""
        self.declare(declared)
        out = os.path.join(self.folder.name, "declared" if declared else "undeclared")
        score_scan.run_scan(os.path.join(".", "plyecho"), self.tube, out)
        lines = list(score_scan.score(self.tube, out))
        for holds, line in lines:
            print("ok  " if holds else "FAIL", line)
        self.assertGreater(len(lines), self.least_lines)
        self.assertEqual([line for holds, line in lines if not holds], [])


class WholeTube(Tube, unittest.TestCase):
    """48 angles by 20 rings, three delaminations, a sleeve, dry places."""

    words = ["--seed", "1"]

    def spoilt(self, name, change):
        """The lines that fail where one table of the undeclared scan is changed."""
        path = os.path.join(self.folder.name, "undeclared", name)
        with open(path, encoding="utf-8") as f:
            table = f.read()
        try:
            with open(path, "w", encoding="utf-8") as f:
                f.write(change(table))
            return [line for holds, line in score_scan.score(self.tube, os.path.dirname(path))
                    if not holds]
        finally:
            with open(path, "w", encoding="utf-8") as f:
                f.write(table)

    def test_sleeve_undeclared(self):
        self.scan(False)
        lost = self.spoilt("indications.csv", lambda t: "".join(
            line for line in t.splitlines(True) if not line.startswith("delamination")))
        self.assertEqual(sum("found 0 times" in line for line in lost), 3)
        self.assertEqual(len(self.spoilt("indications.csv", lambda t: t.replace(
            "\ninner-echo,", "\nthin,"))), 2)
        self.assertTrue(any("passed" in line for line in self.spoilt(
            "readings.csv", lambda t: t.replace("delamination", "no-indication"))))

    def test_sleeve_declared(self):
        self.scan(True)


class SmallFlaws(Tube, unittest.TestCase):
    """Delaminations and disbonds of the sleeve that fill part of the beam: none is lost among its neighbours."""

    words = ["--seed", "2", "--snr", "34", "--small-flaws"]
    least_lines = 15

    def test_sleeve_undeclared(self):
        self.scan(False)

    def test_sleeve_declared(self):
        self.scan(True)


if __name__ == "__main__":
    unittest.main()

#!/usr/bin/python3
"""The scorer must tell a good program from a bad one.

A stand-in program answers from the truth, or wrongly in one known way.
"""

import contextlib
import csv
import io
import os
import sys
import tempfile
import unittest

import independent_sim
import score_set

STAND_IN = r'''#!@PYTHON@
import csv, os, sys
path, how = sys.argv[-1], "@HOW@"
row = {r["trace"]: r for r in csv.DictReader(
    open(os.path.join(os.path.dirname(path), "truth.csv")))}[os.path.basename(path)]
verdict = row["accept"].split("|")[-1]
if how == "missed" and row["class"] == "part-gap":
    verdict = "no-indication"
if how == "false" and row["class"] == "sound":
    verdict = "delamination"
d = float(row["thickness_mm"]) + (0.02 if how == "bias" else 0.001)
wall = f"{d:.4f},{0.006 if how == 'bias' else 0.01}" if row["class"] != "full-gap" else ","
depth = float(row["depth_mm"] or 0) + (0.06 if how == "depth" else 0.04)
ratio = {"missed": 5, "false": 2}.get(how, "")
flagged = "no" if verdict == "no-indication" else "yes"
print("@COLUMNS@")
print(f"{path},1,{verdict},{flagged},{wall},2,{depth},,{ratio},,,,,")
sys.exit(int(flagged == "yes") if how != "status" else 2)
'''


class Scorer(unittest.TestCase):
    @classmethod
    def setUpClass(cls):
        cls.folder = tempfile.TemporaryDirectory()
        opt = independent_sim.parser().parse_args(
            ["--count", "24", "--out", cls.folder.name])
        independent_sim.write_set(opt)

    @classmethod
    def tearDownClass(cls):
        cls.folder.cleanup()

    def run_with(self, how, snr_db=None):
        """Exit status and printed text for a stand-in that errs in one way."""
        program = os.path.join(self.folder.name, "stand-in-" + how)
        with open(program, "w", encoding="ascii") as f:
            f.write(STAND_IN.replace("@PYTHON@", sys.executable).replace("@HOW@", how)
                    .replace("@COLUMNS@", ",".join(score_set.COLUMNS)))
        os.chmod(program, 0o755)
        rows = score_set.read_truth(self.folder.name)
        answers = [score_set.assess(program, self.folder.name, r, True) for r in rows]
        if snr_db:
            rows = [r | {"snr_db": snr_db} for r in rows]
        out = io.StringIO()
        with contextlib.redirect_stdout(out):
            status = score_set.report(rows, answers, 0.98, True)
        return status, out.getvalue()

    def test_truth_passes(self):
        status, text = self.run_with("right")
        self.assertEqual(status, 0, text)
        self.assertIn("right                     1.0000 of 24", text)
        self.assertIn("bias +1.00 um", text)
        self.assertIn("within 2 u              1.000", text)
        self.assertIn("within 50 um            1.0000", text)
        self.assertIn("surely wrong              0.0000 of 24", text)

    def test_errors_fail(self):
        for how, words in (("missed", "called no-indication, wanted none"),
                           ("false", "false calls, good walls   1.0000"),
                           ("bias", "thickness bias 20.00 um"),
                           ("depth", "depths within 50 um in 0.0000"),
                           ("status", "(trouble)")):
            status, text = self.run_with(how)
            self.assertEqual(status, 1, how)
            self.assertIn(words, text)

    def test_noise_excuses_doubt_but_not_sureness(self):
        """At 14 dB wrong verdicts pass at odds of 2, not at 5, nor errors of 3.3 u."""
        for how, sure in (("false", False), ("missed", True), ("bias", True)):
            status, text = self.run_with(how, "14")
            self.assertEqual(status, int(sure), text)
            self.assertEqual("FAILED: surely wrong in" in text, sure, text)


class Files(unittest.TestCase):
    def test_wav_carries_the_same_samples(self):
        """Python's wave module reads what the simulator wrote, to the bit."""
        import wave
        import numpy as np
        with tempfile.TemporaryDirectory() as folder:
            for fmt in ("csv", "wav"):
                independent_sim.write_set(independent_sim.parser().parse_args(
                    ["--count", "1", "--out", folder, "--format", fmt]))
            with wave.open(os.path.join(folder, "0001.wav")) as f:
                self.assertEqual(f.getframerate(), 100000000)
                data = np.frombuffer(f.readframes(5000), "<i2") / 32768
            with open(os.path.join(folder, "0001.csv"), encoding="ascii") as f:
                cells = list(csv.reader(line for line in f if line[0] != "#"))
        self.assertEqual(cells[0], ["time_us", "amplitude"])
        np.testing.assert_array_equal(data, [float(c[1]) for c in cells[1:]])


if __name__ == "__main__":
    unittest.main()

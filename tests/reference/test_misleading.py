#!/usr/bin/python3
"""What is spoilt must not become confidently wrong.

Twenty traces of the independent simulator, spoilt in each way of misleading.py:
of those that were not wrong before, at most one may become confidently wrong; of
what one record cannot always show (samples lost where the back wall's repeat is
not seen, interference that lies on an echo), at most so many as LIMITS says.
What is spoilt beyond use must not pass as sound.
"""

import os
import tempfile
import unittest

import misleading

PROGRAM = os.path.abspath("./plyecho")
JOBS = 2
SETS = [("plain", 40.0), ("hard", 34.0)]
# kind, strength, most that may become confidently wrong of twenty, least withdrawn
CASES = [
    ("clip-amplifier", 0.7, 1, 15), ("clip-converter", 0.4, 1, 19),
    ("clip-one-side", 0.6, 1, 15), ("clip-softly", 0.3, 1, 15),
    ("rectified", "full", 1, 0), ("rectified", "half", 2, 0), ("rectified", "envelope", 1, 0),
    ("rectified-as-rf", "full", 0, 19), ("rectified-as-rf", "envelope", 0, 19), ("inverted", "trace", 0, 0),
    ("tone-in-band", (1.0, 0.1), 1, 0), ("tone-in-band", (1.0, 0.4), 1, 17),
    ("tone-below", (0.1, 0.5), 1, 0), ("tone-above", (3.1, 0.5), 1, 0),
    ("bursts-in-band", (1.0, 0.05), 1, 0), ("bursts-in-band", (1.0, 0.2), 2, 6), ("bursts-in-band", (1.0, 0.6), 2, 12),
    ("base-step", 0.5, 1, 5), ("base-step", 2.0, 1, 12),
    ("dropped", 3, 2, 8), ("dropped", 10, 2, 12), ("dropped", 30, 2, 6),
    ("dropped-later", 10, 1, 2), ("repeated", 10, 2, 12), ("zeroed", 20, 1, 15),
    ("few-counts", 10, 1, 0), ("few-counts", 2.5, 1, 10),
    ("cut-short", 0.7, 0, 19), ("cut-in-echo", 0.0, 0, 19),
]


class Misleading(unittest.TestCase):
    @classmethod
    def setUpClass(cls):
        cls.folder = tempfile.TemporaryDirectory()
        cls.rows = misleading.make_traces(cls.folder.name, SETS, 10, seed=71)
        # every second trace is judged with the reference pulse
        cls.plain = cls.judged("", "")[2]

    @classmethod
    def tearDownClass(cls):
        cls.folder.cleanup()

    @classmethod
    def judged(cls, kind, how):
        """Rows, answers, marks; with --pulse for odd rows."""
        rows = misleading.spoil(cls.folder.name, cls.rows, kind, how)
        rows = [dict(r, pulse=r["pulse"] if i % 2 else "") for i, r in enumerate(rows)]
        answers, marks = misleading.judge(PROGRAM, cls.folder.name, rows, True, JOBS)
        return rows, answers, marks

    def test_unspoilt(self):
        self.assertLessEqual(self.plain.count("wrong"), 3)
        self.assertEqual(self.plain.count("trouble"), 0)

    def test_spoilt(self):
        for kind, how, most, least in CASES:
            with self.subTest(kind=kind, how=how):
                rows, answers, marks = self.judged(kind, how)
                bad = misleading.without_known(rows, answers, marks, self.plain)
                words = "\n".join(misleading.wrong_lines(*zip(*bad)))
                self.assertEqual(marks.count("trouble"), 0, words)
                self.assertLessEqual(sum(m == "wrong" for _, _, m in bad), most, words)
                gone = sum(a["verdict"] in ("undecided", "unreadable") for a in answers)
                self.assertGreaterEqual(gone, least, f"{gone} undecided or unreadable")


if __name__ == "__main__":
    unittest.main()

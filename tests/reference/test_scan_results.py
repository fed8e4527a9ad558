"""What a scan sums up, worked out anew from its own readings.csv by NumPy, SciPy and the json module.

Counts, mean, spread (NIST/SEMATECH e-Handbook 1.3.5.6: squares over n - 1) and least wall; connected places by
scipy.ndimage.label, joined across the seam of a tube. A place's cells are those of `plyecho assess` of its trace.
The tubes are the fleet's; one is turned so that its delamination lies across the zero mark.
"""
import collections
import csv
import json
import os
import shutil
import subprocess
import tempfile
import unittest

import numpy
from scipy import ndimage

PLYECHO = os.path.abspath("plyecho")
FLEET = os.path.abspath(os.path.join(os.environ.get("srcdir", "."), "traces", "fleet"))
VOUCHED = {"no-indication", "inner-echo", "thin", "attenuated"}  # a wall that counts
COLUMNS = 24


def table(path):
    with open(path, encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def assess(procedure, trace):
    run = subprocess.run([PLYECHO, "assess", "--quiet", "--procedure", procedure, "--format", "csv", trace],
                         capture_output=True, text=True, check=False)
    return list(csv.DictReader(run.stdout.splitlines()))


class Scan:
    """A scan of a manifest, and its tables."""

    def __init__(self, folder, manifest, procedure):
        out = os.path.join(folder, "out-" + os.path.basename(manifest))
        run = subprocess.run([PLYECHO, "scan", "--quiet", "--pictures", "none", "--procedure", procedure,
                              "--out", out, manifest], capture_output=True, text=True, check=False)
        assert run.returncode in (0, 1, 2), run.stderr
        self.status = run.returncode
        self.readings = table(os.path.join(out, "readings.csv"))
        self.indications = table(os.path.join(out, "indications.csv"))
        with open(os.path.join(out, "summary.json"), encoding="utf-8") as file:
            self.summary = json.load(file)

    def numbers(self, name):
        return numpy.array([float(r[name]) if r[name] else numpy.nan for r in self.readings])

    def words(self, name):
        return numpy.array([r[name] for r in self.readings])


def turned(folder, by):
    """Tube 3 with its zero mark elsewhere, a trace missing and several rows at the end of the manifest."""
    rows = table(os.path.join(FLEET, "tube3.csv"))
    for row in rows:
        row["angle_deg"] = f"{(float(row['angle_deg']) + by) % 360:g}"
    rows[100]["file"] = "missing.wav"
    rows = rows[40:] + rows[:40]
    path = os.path.join(folder, "turned.csv")
    with open(path, "w", newline="", encoding="ascii") as file:
        writer = csv.DictWriter(file, list(rows[0]), lineterminator="\n")
        writer.writeheader()
        writer.writerows(rows)
    for ring in range(1, 9):
        shutil.copy(os.path.join(FLEET, f"tube3-ring{ring}.wav"), folder)
    return path


def joined(mask):
    """scipy's labels on a closed tube: sets that touch across the seam are one."""
    labels, count = ndimage.label(numpy.hstack([mask, mask]), structure=numpy.ones((3, 3)))
    columns = mask.shape[1]
    graph = numpy.eye(count + 1, dtype=bool)
    graph[labels[:, :columns][mask], labels[:, columns:][mask]] = True
    reach = numpy.linalg.matrix_power((graph | graph.T).astype(float), count + 1) > 0
    first = numpy.argmax(reach, axis=1)
    return first[labels[:, :columns]] * mask


class Results(unittest.TestCase):
    @classmethod
    def setUpClass(cls):
        cls.folder = tempfile.TemporaryDirectory()
        name = cls.folder.name
        cls.scans = [
            Scan(name, os.path.join(FLEET, "tube2.csv"), os.path.join(FLEET, "sleeve.ini")),
            Scan(name, os.path.join(FLEET, "tube3.csv"), os.path.join(FLEET, "tube.ini")),
            Scan(name, turned(name, 165), os.path.join(FLEET, "tube.ini")),
        ]

    @classmethod
    def tearDownClass(cls):
        cls.folder.cleanup()

    def test_status(self):
        self.assertEqual([s.status for s in self.scans], [1, 1, 2])

    def test_counts(self):
        for scan in self.scans:
            counts = scan.summary["counts"]
            read = scan.words("reason") != "not-read"
            self.assertEqual(counts["places"], 8 * COLUMNS)
            self.assertEqual(counts["not_read"], numpy.sum(~read))
            self.assertEqual(counts["flagged"], numpy.sum(scan.words("second_flagged") == "yes"))
            for name, column in (("verdicts", "verdict"), ("second_verdicts", "second_verdict")):
                found = collections.Counter(scan.words(column)[read])
                self.assertEqual({k: v for k, v in counts[name].items() if v > 0}, dict(found))
        self.assertEqual([s.summary["counts"]["not_read"] for s in self.scans], [0, 0, 1])
        self.assertEqual([s.summary["counts"]["shots"] for s in self.scans], [193, 192, 192])
        self.assertEqual(sorted(self.scans[0].numbers("shots"))[-2:], [1, 2])

    def test_wall(self):
        for scan in self.scans:
            wall, told = scan.numbers("second_thickness_mm"), scan.summary["wall"]
            counts = numpy.isin(scan.words("second_verdict"), list(VOUCHED)) & ~numpy.isnan(wall)
            self.assertEqual(told["places"], numpy.sum(counts))
            self.assertAlmostEqual(told["mean_mm"], numpy.mean(wall[counts]), delta=1e-5)
            self.assertAlmostEqual(told["spread_mm"], numpy.std(wall[counts], ddof=1), delta=1e-5)
            off = (wall - scan.numbers("nominal_mm"))[counts]
            self.assertAlmostEqual(told["mean_off_nominal_mm"], numpy.mean(off), delta=1e-5)
            self.assertAlmostEqual(told["spread_about_nominal_mm"], numpy.std(off, ddof=1), delta=1e-5)
            least = numpy.flatnonzero(counts)[numpy.argmin(wall[counts])]
            self.assertAlmostEqual(told["least_mm"], wall[least], delta=1e-5)
            self.assertEqual((told["angle_deg"], told["axial_mm"]),
                             (scan.numbers("angle_deg")[least], scan.numbers("axial_mm")[least]))

    def test_wall_uncertainty(self):
        for scan in self.scans:
            wall, u = scan.numbers("second_thickness_mm"), scan.numbers("second_thickness_u_mm")
            own, own_u = scan.numbers("thickness_mm"), scan.numbers("thickness_u_mm")
            told = scan.summary["wall"]
            self.assertTrue(numpy.all(numpy.isnan(u[numpy.isnan(wall)])))
            same = numpy.abs(wall - own) < 1e-4
            self.assertGreater(numpy.sum(same), 100)
            numpy.testing.assert_allclose(u[same], own_u[same], rtol=0.051)  # two digits each
            least = numpy.flatnonzero(wall == numpy.nanmin(wall))[0]
            if abs(wall[least] - told["least_mm"]) < 1e-5:
                self.assertAlmostEqual(u[least], told["least_u_mm"], delta=0.051 * u[least])
        lone = numpy.isnan(own) & ~numpy.isnan(wall)  # of the last: a wall that only neighbours vouch for
        self.assertGreater(numpy.sum(lone), 0)
        self.assertTrue(numpy.all(u[lone] > 0))

    def grid(self, scan, values):
        """Places by ring and angle."""
        rows = {z: k for k, z in enumerate(sorted(set(scan.numbers("axial_mm"))))}
        out = numpy.zeros((len(rows), COLUMNS), dtype=values.dtype)
        for value, reading in zip(values, scan.readings):
            out[rows[float(reading["axial_mm"])], round(float(reading["angle_deg"]) / 15)] = value
        return out

    def test_connected_places(self):
        for scan in self.scans:
            member = self.grid(scan, numpy.nan_to_num(scan.numbers("indication")).astype(int))
            second = self.grid(scan, scan.words("second_verdict"))
            self.assertTrue(numpy.all((member > 0) == ~numpy.isin(second, ["no-indication", "unreadable"])))
            # an inner echo that is flagged is not part of one that is as declared
            flagged = self.grid(scan, scan.words("second_flagged")) == "yes"
            parts = [(kind, flagged == flag) for kind in set(second.ravel()) for flag in (True, False)
                     if kind == "inner-echo"]
            parts += [(kind, True) for kind in set(second.ravel())
                      - {"no-indication", "unreadable", "inner-echo"}]
            found = 0
            for kind, part in parts:
                labels = joined((second == kind) & part)
                pairs = set(zip(labels[labels > 0], member[labels > 0]))
                self.assertEqual(len(pairs), len({a for a, b in pairs}), (kind, pairs))
                self.assertEqual(len(pairs), len({b for a, b in pairs}), (kind, pairs))
                for _, number in pairs:
                    told = scan.indications[number - 1]
                    self.assertEqual((told["kind"], int(told["number"])), (kind, number))
                    self.assertEqual(int(told["places"]), numpy.sum(member == number))
                    plain = ~flagged[member == number]
                    self.assertEqual(told["declared"], "yes" if kind == "inner-echo" and plain.all() else "no")
                    self.assertEqual(plain.any(), plain.all())
                found += len(pairs)
            self.assertEqual(found, len(scan.indications))
            self.assertEqual(found, scan.summary["counts"]["indications"])

    def test_turned(self):
        """What is found does not hang on where zero is."""
        still, moved = self.scans[1].indications, self.scans[2].indications
        delamination = [i for i in moved if i["kind"] == "delamination"]
        self.assertEqual(len(delamination), 1)
        self.assertGreater(float(delamination[0]["from_deg"]), float(delamination[0]["to_deg"]))
        one = next(i for i in still if i["kind"] == "delamination")
        for name in ("extent_deg", "extent_arc_mm", "from_axial_mm", "to_axial_mm", "area_mm2"):
            self.assertAlmostEqual(float(delamination[0][name]), float(one[name]), delta=0.011)

    def test_place_is_assessed_as_by_itself(self):
        """All cells but the trace's name, for the places of one shot."""
        for scan, tube, ini in zip(self.scans, (2, 3), ("sleeve.ini", "tube.ini")):
            by_name = {(r["trace"], r["channel"]): r for r in scan.readings if r["shots"] == "1"}
            compared = 0
            for ring in (1, 5):
                name = f"tube{tube}-ring{ring}.wav"
                for row in assess(os.path.join(FLEET, ini), os.path.join(FLEET, name)):
                    reading = by_name[name, row["channel"]]
                    for column, cell in row.items():
                        if column != "trace":
                            self.assertEqual(reading[column], cell, (name, row["channel"], column))
                    compared += 1
            self.assertEqual(compared, 2 * COLUMNS)

    def test_hostile_names_are_json(self):
        names = [b"<script>alert('1')</script>.wav", b"\x1b[2J\x07\x7f.wav", b"a\\b\xff\xc2.wav",
                 b"../../..//etc/shadow", "µ \u2028 😀.wav".encode()]
        path = os.path.join(self.folder.name, "hostile.csv")
        with open(path, "wb") as file:
            file.write(b"file,channel,angle_deg,axial_mm\ntube3-ring4.wav,14,0,20\n")
            for k, name in enumerate(names):
                if b"/" not in name:
                    shutil.copy(os.path.join(FLEET, "tube3-ring4.wav"),
                                os.path.join(self.folder.name.encode(), name))
                file.write(b"%s,14,%d,20\n" % (name, 15 * (k + 1)))
        scan = Scan(self.folder.name, path, os.path.join(FLEET, "tube.ini"))
        self.assertEqual(scan.summary["counts"]["places"], 1 + len(names))
        self.assertEqual(len(scan.readings), 1 + len(names))


if __name__ == "__main__":
    unittest.main()

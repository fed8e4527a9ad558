"""The page that is handed over, seen by a browser, a validator, a printer and a reader of plain text.

The fleet's three tubes (accepted, undecided, rejected) and a scan whose every text is hostile. page_look.py says what
must hold and by which standard; a page that is spoilt on purpose shows that each of it can fail.
"""

import os
import shutil
import struct
import subprocess
import sys
import tempfile
import unittest
import zlib

import browser
import page_look as look

PLYECHO = os.path.abspath("plyecho")
FLEET = os.path.abspath(os.path.join(os.environ.get("srcdir", "."), "traces", "fleet"))
NEEDED = {"chromium": "chromium", "tidy": "tidy", "gnuplot": "gnuplot-nox", "pdfinfo": "poppler-utils",
          "pdftotext": "poppler-utils", "pdftoppm": "poppler-utils"}

HOSTILE = "</title></pre><script>alert(1)</script>' onerror=x &amp; ../../etc \N{RIGHT-TO-LEFT OVERRIDE}"


def plyecho(*args, good=(0,)):
    done = subprocess.run([PLYECHO, *args], capture_output=True, timeout=120)
    if done.returncode not in good:
        raise RuntimeError(f"plyecho {args[0]}: status {done.returncode}: {done.stderr.decode()}")


def chunk(kind, data):
    return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))


def write_photos(folder):
    """A PNG by its standard, and a JPEG by poppler, of the PDF that a browser would print."""
    rows = b"".join(b"\0" + bytes((x * y) % 256 for x in range(640)) for y in range(480))
    png = (b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", struct.pack(">IIBBBBB", 640, 480, 8, 0, 0, 0, 0)) +
           chunk(b"IDAT", zlib.compress(rows)) + chunk(b"IEND", b""))
    with open(os.path.join(folder, "<b>\"'.png"), "wb") as f:
        f.write(png)
    pdf = (b"%PDF-1.4\n1 0 obj<</Type/Catalog/Pages 2 0 R>>endobj\n2 0 obj<</Type/Pages/Kids[3 0 R]/Count 1>>endobj\n"
           b"3 0 obj<</Type/Page/Parent 2 0 R/MediaBox[0 0 300 400]>>endobj\ntrailer<</Root 1 0 R>>\n")
    path = os.path.join(folder, "blank.pdf")
    with open(path, "wb") as f:
        f.write(pdf)
    look.run("pdftoppm", "-jpeg", "-singlefile", path, os.path.join(folder, "photo"))
    return [os.path.join(folder, "<b>\"'.png"), os.path.join(folder, "photo.jpg")]


def scanned(folder, manifest, procedure, name):
    out = os.path.join(folder, name)
    plyecho("scan", "--quiet", "--pictures", "svg", "--procedure", procedure, "--out", out, manifest, good=(0, 1))
    return out


def fleet_page(folder, tube):
    procedure = "sleeve.ini" if tube == 2 else "tube.ini"
    out = scanned(folder, os.path.join(FLEET, f"tube{tube}.csv"), os.path.join(FLEET, procedure), f"tube{tube}")
    page = os.path.join(folder, f"tube{tube}.html")
    plyecho("report", "--quiet", out, "-o", page)
    return page


def hostile_page(folder):
    """Three rings of tube 3, with everything that people name named badly, and pictures in pixels."""
    trace = "<img src=x onerror=alert(2)>"
    with open(os.path.join(FLEET, "tube3.csv"), encoding="utf-8") as f:
        rows = f.read().splitlines()[:1 + 24 * 4]
    for ring in range(1, 5):
        shutil.copy(os.path.join(FLEET, f"tube3-ring{ring}.wav"), os.path.join(folder, f"{trace}{ring}.wav"))
    with open(os.path.join(folder, "<i>.csv"), "w", encoding="utf-8") as f:
        f.write("\n".join(rows).replace("tube3-ring", trace) + "\n")
    with open(os.path.join(FLEET, "tube.ini"), encoding="utf-8") as f:
        lines = f.read().splitlines()
    named = [f'{line.split("=")[0]}= "{HOSTILE}"' if line.startswith(("name", "zero_mark", "instrument", "couplant"))
             else line.replace("../", os.path.dirname(FLEET) + "/") for line in lines]
    with open(os.path.join(folder, "<u>.ini"), "w", encoding="utf-8") as f:
        f.write("\n".join(named) + "\n")
    with open(os.path.join(folder, "notes"), "w", encoding="utf-8") as f:
        f.write(f"{HOSTILE}\x1b[2J\x07\n\n{'unbroken' * 200}\n\n<script>console.log(3)</script>\n")
    out = os.path.join(folder, "<s>scan")
    plyecho("scan", "--quiet", "--pictures", "png", "--procedure", os.path.join(folder, "<u>.ini"), "--out", out,
            os.path.join(folder, "<i>.csv"), good=(0, 1))
    page = os.path.join(folder, "hostile.html")
    photos = [word for path in write_photos(folder) for word in ("--photo", path)]
    texts = [word for option in ("part", "operator", "operator-certificate", "operator-level", "place", "surface", "reason")
             for word in (f"--{option}", HOSTILE)]
    plyecho("report", "--quiet", out, "-o", page, "--notes", os.path.join(folder, "notes"), *photos, *texts)
    return page


SPOILT = """<!DOCTYPE html><html><head><title> </title>
<meta name="viewport" content="width=device-width"></head><body><h1>a</h1><h3 id="x">b</h3><p id="x">
<b style="color: #888">grey on white</b><img src="data:image/png;base64,AAAA"><a href="https://invalid.invalid/">c</a>
<p style="width: 900px">wide</p><table><tr><td>no headers</table><script>console.log('said')</script>
<img src="file:///nowhere.png" alt="d"></body></html>
"""


class Report(unittest.TestCase):
    @classmethod
    def setUpClass(cls):
        cls.folder = cls.enterClassContext(tempfile.TemporaryDirectory())
        cls.pages = {f"tube{tube}": fleet_page(cls.folder, tube) for tube in (1, 2, 3)}
        cls.pages["hostile"] = hostile_page(cls.folder)
        cls.browser = cls.enterClassContext(browser.Browser())

    def none(self, faults):
        self.assertEqual(faults, [])

    def test_valid(self):
        for name, path in self.pages.items():
            with self.subTest(name):
                self.none(look.tidy_faults(path))

    def test_on_a_phone(self):
        page = self.browser.page()
        for name, path in self.pages.items():
            with self.subTest(name):
                faults, measured = look.screen_faults(page, path)
                if name == "hostile":  # its names are as long as can be: what matters comes later
                    faults = [f for f in faults if not f.startswith("not on the first screen")]
                self.none(faults)
                self.assertGreaterEqual(len(measured["images"]), 4)

    def test_first_screen_says_it(self):
        page = self.browser.page()
        for name, verdict, worst in (("tube1", "accepted", "None"), ("tube2", "undecided", "165 deg, 24 mm"),
                                     ("tube3", "rejected", "180 deg, 32 mm")):
            with self.subTest(name):
                page.size(390, 844)
                page.open(self.pages[name])
                measured = page.evaluate(look.MEASURE)
                self.assertIn(verdict, measured["headings"][1][1])
                self.assertIn(worst, measured["terms"]["Worst spot"][2])
                self.assertIn(verdict, measured["title"])
                first = "\n".join(look.text_lines(self.pages[name])[:25])
                for words in (f"Result: {verdict}", worst, "How sure", "Thinnest wall"):
                    self.assertIn(words, first)

    def test_on_paper(self):
        page = self.browser.page()
        for name, path in self.pages.items():
            page.size(1024, 768, mobile=False)
            page.open(path)
            for paper in (look.A4_MM, look.LETTER_MM):
                with self.subTest(name, paper=paper):
                    pdf = os.path.join(self.folder, f"{name}.pdf")
                    self.none(look.paper_faults(page, pdf, paper))
                    first = look.run("pdftotext", "-l", "1", pdf, "-").decode()
                    self.assertIn("Result: ", first)
                    self.assertIn("Worst spot", first)
            for paper in (look.A4_MM, look.LETTER_MM):
                with self.subTest(name, boxes=paper):
                    self.none(look.split_faults(page, os.path.join(self.folder, "boxes.pdf"), paper))

    def test_nothing_hostile_acts(self):
        page = self.browser.page()
        page.size(390, 844)
        page.open(self.pages["hostile"])
        self.assertEqual(page.evaluate("document.querySelectorAll('script, iframe, object, embed, link, form').length"), 0)
        self.assertEqual(page.evaluate("[...document.querySelectorAll('*')].filter(e => "
                                       "[...e.attributes].some(a => a.name.startsWith('on'))).length"), 0)
        shown = page.evaluate("document.querySelector('h1').textContent")
        self.assertEqual(shown, HOSTILE.replace("\N{RIGHT-TO-LEFT OVERRIDE}", "?"))

    def test_the_checks_can_fail(self):
        """Each finds its fault on a page that has them all."""
        path = os.path.join(self.folder, "spoilt.html")
        with open(path, "w", encoding="utf-8") as f:
            f.write(SPOILT)
        page = self.browser.page()
        found = look.tidy_faults(path) + look.screen_faults(page, path)[0]
        for fault in ("tidy: ", "console: ", "asks for file:///nowhere", "language ''", "heading jumps", "id twice: x",
                      "link to nowhere", "picture not drawn", "picture without words", "contrast 3.5", "the page scrolls sideways",
                      "not on the first screen: the worst spot", "no tables with row"):
            with self.subTest(fault):
                self.assertTrue(any(f.startswith(fault) for f in found), found)

    def test_contrast_by_its_definition(self):
        """The ends of the scale; the rest is arithmetic."""
        self.assertAlmostEqual(look.contrast("rgb(0, 0, 0)", "rgb(255, 255, 255)"), 21)
        self.assertAlmostEqual(look.contrast("rgb(9, 9, 9)", "rgb(9, 9, 9)"), 1)

    def test_a_split_picture_shows(self):
        page = self.browser.page()
        path = os.path.join(self.folder, "split.html")
        picture = "<img width=500 src=\"data:image/svg+xml,<svg xmlns='http://www.w3.org/2000/svg' width='500' height='400'/>\">"
        pdf = os.path.join(self.folder, "split.pdf")
        for style, faults in (("", 0), ("transform: translateY(700px)", 1)):
            with open(path, "w", encoding="utf-8") as f:
                f.write(f"<!DOCTYPE html><p>a</p><div style='{style}'>{picture}</div><p>b</p>")
            page.open(path)
            self.assertEqual(len(look.split_faults(page, pdf, look.A4_MM)), faults)


if __name__ == "__main__":
    missing = sorted({package for name, package in NEEDED.items() if shutil.which(name) is None})
    if missing:
        print(f"SKIPPED: the page was seen by no browser. Install {' '.join(missing)}.", file=sys.stderr)
        sys.exit(77)
    unittest.main()

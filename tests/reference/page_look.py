"""What must hold of a page that is handed over: found by a browser, by tidy and by poppler, returned as a list of faults.

Contrast: Web Content Accessibility Guidelines 2.1, success criterion 1.4.3 (4.5 to 1), by their definitions of
contrast ratio and relative luminance. Headings, names and languages: the same, 1.1.1, 1.3.1, 2.4.2, 3.1.1; no
scrolling both ways: 1.4.10, there at 320 px. Paper: ISO 216 A4, and ANSI A (Letter).
"""

import collections
import html
import html.parser
import json
import re
import subprocess

A4_MM, LETTER_MM = (210, 297), (215.9, 279.4)
LIMIT_S = 60

# Everything that is measured in one go: see the names.
MEASURE = r"""
(() => {
  const shown = e => e.getClientRects().length > 0;
  const opaque = e => {
    for (; e; e = e.parentElement) {
      const c = getComputedStyle(e).backgroundColor;
      if (!/, 0\)$/.test(c)) return c;
    }
    return 'rgb(255, 255, 255)';
  };
  const texts = [], walker = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
  while (walker.nextNode()) {
    const t = walker.currentNode, e = t.parentElement;
    if (t.data.trim() && shown(e))
      texts.push([getComputedStyle(e).color, opaque(e), t.data.trim().slice(0, 40)]);
  }
  const box = e => { const r = e.getBoundingClientRect(); return [r.left, r.top, r.right, r.bottom]; };
  const terms = {};
  for (const t of document.querySelectorAll('dt'))
    terms[t.innerText] = [box(t), box(t.nextElementSibling), t.nextElementSibling.innerText];
  return {
    title: document.title,
    language: document.documentElement.lang,
    compatibility: document.compatMode,
    width: [document.documentElement.scrollWidth, document.documentElement.clientWidth],
    wide: [...document.body.querySelectorAll('*')].filter(
      e => !e.closest('.wide') && e.getBoundingClientRect().right > innerWidth + 0.5).map(e => e.outerHTML.slice(0, 80)),
    images: [...document.images].map(i => [i.complete, i.naturalWidth, i.alt, i.src.slice(0, 30)]),
    headings: [...document.querySelectorAll('h1,h2,h3,h4,h5,h6')].map(h => [+h.tagName[1], h.innerText.trim()]),
    ids: [...document.querySelectorAll('[id]')].map(e => e.id),
    links: [...document.querySelectorAll('a[href]')].map(a => a.getAttribute('href')),
    verdict: box(document.querySelector('h2') || document.body),
    terms: terms,
    texts: texts,
    words: document.body.innerText,
  };
})()
"""

# Each picture becomes a black box of the same shape: on paper a box that is split shows.
BLACKEN = r"""
Promise.all([...document.images].map(i => {
  const svg = `<svg xmlns="http://www.w3.org/2000/svg" width="${i.naturalWidth}" height="${i.naturalHeight}">` +
    '<rect width="100%" height="100%"/></svg>', shape = i.naturalHeight / i.naturalWidth;
  i.src = 'data:image/svg+xml,' + encodeURIComponent(svg);
  return i.decode().then(() => shape);
}))
"""


def run(*command, good=(0,)):
    done = subprocess.run(command, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, timeout=LIMIT_S)
    if done.returncode not in good:
        raise RuntimeError(f"{command[0]}: {done.stdout.decode(errors='replace')[-500:]}")
    return done.stdout


def tidy_faults(path):
    """Status 1 are warnings, 2 errors."""
    said = run("tidy", "-q", "-e", "-utf8", path, good=(0, 1, 2)).decode(errors="replace")
    return [f"tidy: {line}" for line in said.splitlines()]


# ---- contrast ----

def rgb(color):
    return [float(v) for v in re.findall(r"[\d.]+", color)][:3]


def luminance(color):
    linear = [v / 255 / 12.92 if v / 255 <= 0.04045 else ((v / 255 + 0.055) / 1.055) ** 2.4 for v in rgb(color)]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(one, other):
    light, dark = sorted((luminance(one), luminance(other)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


def contrast_faults(texts):
    pairs = {(fore, back): text for fore, back, text in texts}
    return [f"contrast {contrast(*pair):.2f}: {text}" for pair, text in pairs.items() if contrast(*pair) < 4.5]


# ---- on a screen ----

def structure_faults(m):
    levels = [level for level, _ in m["headings"]]
    doubled = [i for i, count in collections.Counter(m["ids"]).items() if count > 1]
    faults = []
    if m["language"] != "en" or m["compatibility"] != "CSS1Compat" or not m["title"].strip():
        faults.append(f"language '{m['language']}', title '{m['title']}', {m['compatibility']}")
    if levels.count(1) != 1 or levels[:1] != [1]:
        faults.append("not one h1 ahead of all headings")
    faults += [f"heading jumps: {b}" for a, b in zip(m["headings"], m["headings"][1:]) if b[0] > a[0] + 1]
    faults += ["a heading without text" for _, text in m["headings"] if not text]
    faults += [f"id twice: {i}" for i in doubled]
    faults += [f"link to nowhere: {a}" for a in m["links"] if not (a.startswith("#") and a[1:] in m["ids"])]
    return faults


def image_faults(m):
    return ([f"picture not drawn: {i}" for i in m["images"] if not (i[0] and i[1] > 0)] +
            [f"picture without words: {i}" for i in m["images"] if not i[2].strip()])


def width_faults(m):
    scroll, client = m["width"]
    return ([f"the page scrolls sideways: {scroll} in {client} px"] if scroll > client else []) + \
        [f"wider than the screen: {e}" for e in m["wide"]]


def first_screen_faults(m, width, height):
    """Verdict and worst place whole, and where the words begin that say how sure that is."""
    places = {"the verdict": m["verdict"], "the worst spot": m["terms"].get("Worst spot", [None, None])[1],
              "how sure": m["terms"].get("How sure", [None])[0]}
    return [f"not on the first screen: {what} {box}" for what, box in places.items()
            if box is None or box[0] < 0 or box[1] < 0 or box[2] > width or box[3] > height]


def spoken_faults(nodes, m):
    """What a screen reader is told of."""
    faults = []
    names = collections.defaultdict(list)
    for role, name, level in nodes:
        names[role].append((name.strip(), level))
    if sorted(level for _, level in names["heading"]) != sorted(level for level, _ in m["headings"]):
        faults.append(f"headings not told: {names['heading']}")
    if len(names["image"]) != len(m["images"]):
        faults.append(f"{len(names['image'])} pictures told of {len(m['images'])}")
    for role in ("heading", "image", "table", "rowheader", "columnheader"):
        faults += [f"a {role} without a name" for name, _ in names[role] if not name]
    if not (names["table"] and names["rowheader"] and names["columnheader"] and names["main"]):
        faults.append("no tables with row and column headers, or no main part")
    return faults


def traffic_faults(page, path):
    return ([f"console: {text}" for text in page.messages()] +
            [f"asks for {url[:80]}" for url in page.requests()
             if not url.startswith("data:") and not (url.startswith("file:") and url.endswith(path))])


# ---- on paper ----

def pdf_facts(path):
    facts = dict(line.split(":", 1) for line in run("pdfinfo", path).decode().splitlines() if ":" in line)
    width, height = re.findall(r"[\d.]+", facts["Page size"])[:2]
    return int(facts["Pages"]), float(width) / 72 * 25.4, float(height) / 72 * 25.4


def paper_words(path):
    """(page, left, right, word), in points."""
    parts = run("pdftotext", "-bbox", path, "-").decode().split("<page ")
    return [(page, float(left), float(right), html.unescape(word))
            for page, part in enumerate(parts)
            for left, right, word in re.findall(r'xMin="([-\d.]+)" .*?xMax="([-\d.]+)" .*?>(.*?)</word>', part)]


def pictures_of_pages(path, dpi):
    """Grey pages as rows of bytes."""
    data, pages = run("pdftoppm", "-gray", "-r", str(dpi), path), []
    while data:
        head = re.match(rb"P5\s+(\d+)\s+(\d+)\s+255\s", data)
        width, height = int(head[1]), int(head[2])
        body = data[head.end():head.end() + width * height]
        pages.append([body[i:i + width] for i in range(0, width * height, width)])
        data = data[head.end() + width * height:]
    return pages


def counted(text):
    """Words that no line can be too short for."""
    return collections.Counter(word for word in re.findall(r"\w+", text) if len(word) <= 20)


def paper_faults(page, path, paper_mm):
    """Pages of that size, all words on them and within their margins, none blank."""
    page.pdf(path, *paper_mm)
    pages, width_mm, height_mm = pdf_facts(path)
    words = paper_words(path)
    faults = []
    if abs(width_mm - paper_mm[0]) > 0.5 or abs(height_mm - paper_mm[1]) > 0.5:
        faults.append(f"paper of {width_mm:.1f} x {height_mm:.1f} mm")
    faults += [f"beyond the margin, page {p}: {word}" for p, left, right, word in words
               if left < 30 or right > paper_mm[0] / 25.4 * 72 - 30]
    lost = counted(page.evaluate("document.body.innerText")) - counted(" ".join(w[3] for w in words))
    # a digest breaks where the line does
    faults += [f"not on paper: {word}" for word in lost if not re.fullmatch("[0-9a-f]+", word)]
    grey = pictures_of_pages(path, 24)
    if len(grey) != pages or not 3 <= pages <= 60:
        faults.append(f"{pages} pages, {len(grey)} drawn")
    faults += [f"page {i + 1} is blank" for i, rows in enumerate(grey) if min(min(r) for r in rows) > 160]
    return faults


def dark_boxes(rows):
    """Heights and widths of what is black through and through, in pixels."""
    boxes, height, width = [], 0, 0
    for row in rows + [b"\xff" * len(rows[0])]:
        run_of_black = max((len(m) for m in re.findall(rb"[\x00-\x10]+", row)), default=0)
        if run_of_black >= 12:
            height, width = height + 1, max(width, run_of_black)
        elif height:
            boxes.append((height, width))
            height = width = 0
    return [b for b in boxes if b[0] >= 6]


def split_faults(page, path, paper_mm):
    """Pictures that paper cuts in two. The page is spoilt by it."""
    shapes = page.evaluate(BLACKEN)
    page.pdf(path, *paper_mm)
    boxes = [b for rows in pictures_of_pages(path, 40) for b in dark_boxes(rows)]
    if len(boxes) != len(shapes):
        return [f"{len(shapes)} pictures are {len(boxes)} boxes on paper"]
    return [f"picture {i + 1} is {h} x {w} on paper, not {shape:.2f}" for i, ((h, w), shape) in enumerate(zip(boxes, shapes))
            if abs(h - shape * w) > 3 + 0.05 * h]


# ---- as text ----

class Lines(html.parser.HTMLParser):
    """What a browser without styles would print."""

    BLOCKS = {"p", "h1", "h2", "h3", "dt", "dd", "li", "tr", "title", "figcaption", "caption", "section", "header"}

    def __init__(self):
        super().__init__()
        self.lines, self.hidden = [""], 0

    def handle_starttag(self, tag, attrs):
        self.hidden += tag in ("style", "head")
        if tag in self.BLOCKS:
            self.lines.append("")

    def handle_endtag(self, tag):
        self.hidden -= tag in ("style", "head")

    def handle_data(self, data):
        if not self.hidden:
            self.lines[-1] += data.replace("\n", " ")


def text_lines(path):
    parser = Lines()
    with open(path, encoding="utf-8") as f:
        parser.feed(f.read())
    return [line.strip() for line in parser.lines if line.strip()]


# ---- all of it ----

def screen_faults(page, path):
    """page: of browser.py. What is wrong with the page at path on a phone."""
    page.size(390, 844)
    page.open(path)
    m = page.evaluate(MEASURE)
    faults = traffic_faults(page, path) + structure_faults(m) + image_faults(m) + contrast_faults(m["texts"])
    faults += first_screen_faults(m, 390, 844) + spoken_faults(page.accessibility(), m)
    page.size(360, 780)
    return faults + width_faults(page.evaluate(MEASURE)), m


if __name__ == "__main__":
    import sys

    import browser
    with browser.Browser() as b:
        for name in sys.argv[1:]:
            print(name, json.dumps(tidy_faults(name) + screen_faults(b.page(), name)[0], indent=1))

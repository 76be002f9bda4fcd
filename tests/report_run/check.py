"""Renders the page of the built-in job in a browser without a screen, and looks at what came out.

    python3 tests/report_run/check.py BINARY [FOLDER]      FOLDER keeps the PDFs and the screenshot

Needs Debian's chromium, and pypdf (tests/requirements.txt). Prints `N passed, N failed`; exit 0 when
nothing failed. Contrast as in WCAG 2.2, 1.4.3 and the definition of relative luminance there.
"""

import html
import json
import re
import subprocess
import sys
import tempfile
import unicodedata
from html.parser import HTMLParser
from pathlib import Path

from pypdf import PdfReader

FLAGS = ["--headless", "--no-sandbox", "--disable-gpu", "--no-first-run", "--disable-background-networking",
         "--disable-component-update", "--disable-sync"]
POINTS = {"a4": (595, 842), "letter": (612, 792)}
MEASURE = """<script>addEventListener('load', () => {
const d = document.documentElement, p = document.createElement('pre');
const text = document.querySelector('main').innerText.split(/\\s+/).filter(Boolean);
p.textContent = JSON.stringify({wide: d.scrollWidth, room: d.clientWidth, text});
p.id = 'm'; document.body.replaceChildren(p); });</script>"""
results = {True: 0, False: 0}


def check(text, good, beside=""):
    results[bool(good)] += 1
    print(f"  {'ok   ' if good else 'FAIL '} {text}{'' if good else ': ' + str(beside)}")


def browser(folder, page, *args):
    profile = tempfile.mkdtemp(dir=folder)
    command = ["chromium", *FLAGS, f"--user-data-dir={profile}", *args, page.as_uri()]
    return subprocess.run(command, capture_output=True, text=True, timeout=60, check=True).stdout


def measured(folder, source, width):
    """Scroll width, room and words of a page, by a script put into a copy of it."""
    page = folder / "measured.html"
    page.write_text(source.replace("</body>", MEASURE + "</body>"), encoding="utf-8")
    dom = browser(folder, page, f"--window-size={width},1200", "--dump-dom")
    return json.loads(html.unescape(re.search(r'<pre id="m">(.*?)</pre>', dom, re.S)[1]))


class Seen(HTMLParser):
    """Levels of headings, texts of captions, of panels' titles in each figure, fills of SVG texts."""

    def __init__(self):
        super().__init__()
        self.levels, self.captions, self.figures, self.fills = [], [], [], set()
        self.into = None

    def handle_starttag(self, tag, attributes):
        attributes = dict(attributes)
        if re.fullmatch("h[1-6]", tag):
            self.levels.append(int(tag[1]))
        if tag == "figure":
            self.figures.append([])
        if tag in ("text", "tspan") and "fill" in attributes:
            self.fills.add(attributes["fill"])
        self.into = {"caption": self.captions, "figcaption": self.captions}.get(tag)
        if attributes.get("font-weight") == "bold":
            self.into = self.figures[-1]

    def handle_data(self, data):
        if self.into is not None:
            self.into.append(data)
            self.into = None


def squeezed(text):
    return re.sub(r"\s+", "", unicodedata.normalize("NFKC", text))  # a PDF may hold ligatures


def printed(folder, source, seen, paper):
    page = folder / f"{paper}.html"
    page.write_text(source.replace("@page {", "@page { size: " + paper + ";", 1), encoding="utf-8")
    target = folder / f"{paper}.pdf"
    browser(folder, page, f"--print-to-pdf={target}", "--no-pdf-header-footer")
    pages = PdfReader(target).pages
    texts = [squeezed(page.extract_text()) for page in pages]
    check(f"{paper}: between 3 and 30 pages, none empty", 3 <= len(pages) <= 30 and all(texts), [len(t) for t in texts])
    size = [round(float(v)) for v in pages[0].mediabox[2:]]
    check(f"{paper}: size", all(abs(a - b) <= 1 for a, b in zip(size, POINTS[paper])), size)
    whole = "".join(texts)
    missing = [c for c in seen.captions if squeezed(c) not in whole]
    check(f"{paper}: every caption is in the text of the PDF ({len(seen.captions)})", seen.captions and not missing, missing)
    cut = [titles for titles in seen.figures if not any(all(squeezed(t) in text for t in titles) for text in texts)]
    check(f"{paper}: the panels of each figure are on one page ({len(seen.figures)})", seen.figures and not cut, cut)


def luminance(colour):
    parts = [int(colour[k:k + 2], 16) / 255 for k in (1, 3, 5)]
    red, green, blue = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in parts]
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(a, b):
    a, b = sorted((luminance(a), luminance(b)))
    return (b + 0.05) / (a + 0.05)


def contrasts(source, seen):
    style = re.search("<style>(.*?)</style>", source, re.S)[1]
    rules = re.findall(r"([^{}]+)\{([^{}]*)\}", style)
    own, texts, grounds = [], set(), {"#FFFFFF"}
    for _, body in rules:
        text = re.search(r"(?<![-\w])color:\s*(#\w{6})", body)
        ground = re.search(r"background:\s*(#\w{6})", body)
        if text and ground:
            own.append((text[1], ground[1]))
        elif text:
            texts.add(text[1])
        elif ground:
            grounds.add(ground[1])
    light = [pair for pair in own if luminance(pair[1]) > 0.5]
    texts |= {text for text, _ in light}
    grounds |= {ground for _, ground in light}
    pairs = own + [(text, ground) for text in texts for ground in grounds]
    fills = set(re.findall(r'<rect[^>]* fill="(#\w{6})" fill-opacity', source)) | {"#FDFCF9", "#E6E2D8"}
    pairs += [(text, ground) for text in seen.fills for ground in fills]
    poor = [(a, b, round(contrast(a, b), 2)) for a, b in pairs if contrast(a, b) < 4.5]
    check(f"text has 4.5:1 against its grounds ({len(pairs)} pairs)", len(pairs) > 8 and not poor, poor)


def run(binary, folder):
    page = folder / "page.html"
    subprocess.run([binary, "report", "--date", "2026-11-26", "--out", str(page), "--force"], check=True)
    source = page.read_text(encoding="utf-8")
    seen = Seen()
    seen.feed(source)
    levels = seen.levels
    steps = all(b <= a + 1 for a, b in zip(levels, levels[1:]))
    check("headings in order", levels[0] == 1 and levels.count(1) == 1 and steps, levels)
    contrasts(source, seen)
    for width in (1200, 680, 420):
        found = measured(folder, source, width)
        check(f"nothing wider than a window of {width}", found["wide"] <= found["room"], found["wide"])
    bare = measured(folder, re.sub("<style>.*?</style>", "", source, flags=re.S), 1200)
    styled = measured(folder, source, 1200)
    check("without its styles the page has the same words in the same order",
          len(styled["text"]) > 500 and bare["text"] == styled["text"])
    for paper in POINTS:
        printed(folder, source, seen, paper)
    browser(folder, page, "--window-size=1000,3000", f"--screenshot={folder / 'page.png'}")
    check("a screenshot", (folder / "page.png").stat().st_size > 50_000)


with tempfile.TemporaryDirectory() as temporary:
    kept = Path(sys.argv[2] if len(sys.argv) > 2 else temporary).resolve()
    kept.mkdir(parents=True, exist_ok=True)
    run(str(Path(sys.argv[1]).resolve()), kept)
print(f"{results[True]} passed, {results[False]} failed")
sys.exit(results[False] > 0)

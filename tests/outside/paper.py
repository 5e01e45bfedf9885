"""Measures what comes out of a printer: templates and sheet of one made job, rendered by poppler.

Usage: paper.py JOB FOLDER PICTURES

Poppler (https://poppler.freedesktop.org) knows nothing of how the files were written. It draws every
page of every template at 600 dots to the inch; every cross must stand within 0.1 mm of where report.json
has the hole or mark, and both gauges must be 100 mm long. The sheet must say on paper what it says on the
page, with its fonts embedded. Exit 1 and a line for each fault.
"""

import json
import re
import subprocess
import sys
import tomllib
from html.parser import HTMLParser
from pathlib import Path

DPI = 600
MM = DPI / 25.4  # dots in a millimetre
MARGIN = 10.0  # from the page's edge to what is drawn, and the template's head counts from there
TRUE = 0.1  # mm
DARK = 40  # of 255: crosses and gauges are black, all else is lighter

wrong = []


def said(*command):
    return subprocess.run(command, check=True, capture_output=True).stdout


class Page:
    """One page as dots, counted from the top left."""

    def __init__(self, pdf, number):
        dots = said("pdftoppm", "-r", str(DPI), "-gray", "-aa", "no", "-aaVector", "no",
                    "-f", str(number), "-l", str(number), str(pdf))
        head = re.match(rb"P5\s+(\d+)\s+(\d+)\s+255\s", dots)
        self.width, self.height = int(head[1]), int(head[2])
        self.dots = memoryview(dots)[head.end():]

    def dark(self, column, row):
        inside = 0 <= column < self.width and 0 <= row < self.height
        return inside and self.dots[row * self.width + column] < DARK

    def line(self, at, along, across):
        """Where a line near `at` runs, in dots: the middle of what is dark beside the cross's middle."""
        near, far, aside = int(1.5 * MM), int(3.4 * MM), int(0.6 * MM)
        middles, looked = [], 0
        for off in [*range(-far, -near, 3), *range(near, far, 3)]:
            looked += 1
            places = [(at[0] + off * along[0] + i * across[0], at[1] + off * along[1] + i * across[1])
                      for i in range(-aside, aside + 1)]
            hits = [i for i, (x, y) in zip(range(-aside, aside + 1), places) if self.dark(round(x), round(y))]
            if hits:
                middles.append(sum(hits) / len(hits))
        return sorted(middles)[len(middles) // 2] if len(middles) > 0.9 * looked else None

    def off(self, x, y):
        """How far a cross is from where it should be, mm; None without a cross."""
        # A dot's middle is half a dot from its corner.
        place = (x * MM - 0.5, self.height - y * MM - 0.5)
        near = tuple(round(n) for n in place)
        down, right = self.line(near, (1, 0), (0, 1)), self.line(near, (0, 1), (1, 0))
        if down is None or right is None:
            return None
        dx, dy = near[0] + right - place[0], near[1] + down - place[1]
        return (dx * dx + dy * dy) ** 0.5 / MM


def longest(lines):
    """The longest dark run of any line, in dots."""
    longest = 0
    for line in lines:
        for run in re.finditer(rb"\x01+", line):
            longest = max(longest, run.end() - run.start())
    return longest


def gauges(page):
    """Lengths of the longest level and the longest upright black line, mm."""
    bits = bytes(page.dots).translate(bytes(1 if i < DARK else 0 for i in range(256)))
    rows = [bits[row * page.width:(row + 1) * page.width] for row in range(page.height)]
    # The ends of a line are round and reach half its width too far.
    width = 0.2
    return [longest(rows) / MM - width, longest(map(bytes, zip(*rows))) / MM - width]


def places(job, report, sheet):
    """Where report.json has every hole or mark, from the sheet's lower left corner as it lies."""
    work, _, piece = sheet.partition("-")
    if work == "fabric":
        marks = report["fabric"]["marks"]
        return {mark["name"]: mark["back_mm"] for mark in marks if mark["piece"] == int(piece or 1)}
    w, h, _ = report["materials"][f"{work}_mm"]
    over = -1 if work == "board" and job["board"].get("face_up") == "back" else 1
    return {b["name"]: [w / 2 + over * b["front_mm"][0], h / 2 + b["front_mm"][1]] for b in report["layout"]["buttons"]}


def template(pdf, job, report):
    # In the order in which it was written: what is clipped at the top of a page would part the head.
    pages = said("pdftotext", "-raw", str(pdf), "-").decode().split("\f")[:-1]
    expected = places(job, report, pdf.stem.removesuffix("-template"))
    found, worst = set(), 0.0
    for number, words in enumerate(pages, 1):
        page = Page(pdf, number)
        if number == 1:
            lengths = gauges(page)
            for length in lengths:
                if abs(length - 100) > TRUE:
                    wrong.append(f"{pdf.name}: a gauge is {length:.2f} mm long")
            continue
        span = re.search(r"X (-?[\d.]+) to (-?[\d.]+), Y (-?[\d.]+) to (-?[\d.]+) mm", words)
        x0, x1, y0, y1 = map(float, span.groups())
        for name, (x, y) in expected.items():
            # A cross that is cut off here is whole on the next page.
            if not (x0 + 6 < x < x1 - 6 and y0 + 6 < y < y1 - 6):
                continue
            off = page.off(MARGIN + x - x0, MARGIN + y - y0)
            if off is None or off > TRUE:
                wrong.append(f"{pdf.name}: page {number - 1}: {name} is off by {off} mm")
                continue
            worst = max(worst, off)
            found.add(name)
    missing = sorted(set(expected) - found)
    if missing:
        wrong.append(f"{pdf.name}: never whole on a page: {', '.join(missing)}")
    print(f"  {pdf.name}: {len(pages)} pages, {len(found)} marks, at most {worst:.3f} mm off, "
          f"gauges {lengths[0]:.2f} and {lengths[1]:.2f} mm")


class Words(HTMLParser):
    """The words of a page, without those in its pictures."""

    def __init__(self):
        super().__init__()
        self.text, self.hidden = [], 0

    def handle_starttag(self, tag, _):
        self.hidden += tag in ("svg", "style", "title")

    def handle_endtag(self, tag):
        self.hidden -= tag in ("svg", "style", "title")

    def handle_data(self, data):
        if not self.hidden and data.strip():
            self.text.append("".join(data.split()))


def sheet(folder):
    pdf = folder / "sheet.pdf"
    page = Words()
    page.feed((folder / "sheet.html").read_text())
    # In the order in which it was written, and without spaces: where a line breaks is not the matter.
    # The foot of a page may stand between two lines of one text.
    raw = said("pdftotext", "-raw", str(pdf), "-").decode()
    title = json.loads((folder / "report.json").read_text())["job"]
    foot = re.escape(title) + r"\s+page \d+ of \d+"
    printed = "".join(re.sub(foot, "", raw).split())
    lacking = [text for text in page.text if text not in printed]
    if lacking:
        wrong.append(f"sheet.pdf lacks what sheet.html says: {lacking}")
    fonts = said("pdffonts", str(pdf)).decode().splitlines()[2:]
    loose = [font for font in fonts if not re.search(r"\byes\s+yes\s+yes\b", font)]
    if loose or not fonts:
        wrong.append(f"sheet.pdf: fonts not embedded: {loose}")
    print(f"  sheet.pdf: all {len(page.text)} texts of the page; {len(fonts)} fonts, embedded")


def main(job, folder, pictures):
    report = json.loads((folder / "report.json").read_text())
    settings = tomllib.loads(job.read_text())
    pictures.mkdir(parents=True, exist_ok=True)
    for pdf in sorted(folder.glob("*-template.pdf")):
        template(pdf, settings, report)
        said("pdftoppm", "-r", "60", "-png", pdf, pictures / pdf.stem)
    sheet(folder)
    said("pdftoppm", "-r", "100", "-png", folder / "sheet.pdf", pictures / "sheet-pdf")
    for line in wrong:
        print(f"  {line}")
    return 1 if wrong else 0


if __name__ == "__main__":
    sys.exit(main(*map(Path, sys.argv[1:])))

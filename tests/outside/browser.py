"""Opens preview.html and sheet.html of one made job from disk in headless Chromium, network off.

Usage: browser.py FOLDER PICTURES

Speaks WebDriver (https://www.w3.org/TR/webdriver2/) to chromedriver with the standard library only.
Leaves a screenshot of each page, and the sheet as a PDF, in PICTURES. Exit 1 and a line for each
fault; 3 if the browser could not be started.
"""

import base64
import csv
import json
import os
import re
import shutil
import subprocess
import sys
import tempfile
import urllib.request
from pathlib import Path

FLAGS = """--headless --no-sandbox --disable-gpu --no-first-run --disable-background-networking
    --disable-component-update --disable-sync""".split()
OFFLINE = {"offline": True, "latency": 0, "download_throughput": 0, "upload_throughput": 0}
# Pictures that have a size and something in them, words, and all that the page asked for.
LOOK = """
const drawn = [...document.querySelectorAll('svg')].filter(svg => {
  const box = svg.getBoundingClientRect();
  return box.width > 0 && box.height > 0
    && svg.querySelector('circle, path, line, rect, polyline, polygon, use');
});
return {
  pictures: drawn.length,
  words: document.body.innerText.trim().length,
  asked: performance.getEntriesByType('resource').map(entry => entry.name),
  height: document.documentElement.scrollHeight,
};
"""

wrong = []


class Browser:
    def __init__(self, driver, profile):
        started = (re.search(r"started successfully on port (\d+)", line) for line in driver.stdout)
        port = next((found[1] for found in started if found), None)
        if port is None:
            raise OSError("chromedriver did not start")
        self.url = f"http://127.0.0.1:{port}/session"
        flags = [*FLAGS, f"--user-data-dir={profile}"]
        options = {"binary": shutil.which("chromium"), "args": flags}
        wanted = {"goog:chromeOptions": options, "goog:loggingPrefs": {"browser": "ALL"}}
        self.url += "/" + self.ask("", capabilities={"alwaysMatch": wanted})["sessionId"]
        self.ask("/chromium/network_conditions", network_conditions=OFFLINE)

    def ask(self, path, method="POST", **body):
        data = json.dumps(body).encode() if method == "POST" else None
        request = urllib.request.Request(self.url + path, data, method=method)
        direct = urllib.request.build_opener(urllib.request.ProxyHandler({}))
        with direct.open(request, timeout=60) as answer:
            return json.load(answer)["value"]


def look(browser, page, pictures):
    browser.ask("/window/rect", width=1280, height=900)
    browser.ask("/url", url=page.resolve().as_uri())
    seen = browser.ask("/execute/sync", script=LOOK, args=[])
    log = browser.ask("/se/log", type="browser")
    errors = [entry["message"] for entry in log if entry["level"] == "SEVERE"]
    wrong.extend(f"{page.name}: console: {error}" for error in errors)
    asked = [address for address in seen["asked"] if not address.startswith("data:")]
    wrong.extend(f"{page.name}: asked for {address}" for address in asked)
    if not seen["pictures"]:
        wrong.append(f"{page.name}: no picture")
    if not seen["words"]:
        wrong.append(f"{page.name}: no words")
    browser.ask("/window/rect", width=1280, height=min(seen["height"] + 150, 8000))
    picture = browser.ask("/screenshot", "GET")
    (pictures / f"{page.stem}.png").write_bytes(base64.b64decode(picture))
    print(f"  {page.name}: {seen['pictures']} pictures, {len(errors)} console errors")


# Moves one program's slider to half time, as a hand would, and says where the tool stands.
HALF_TIME = """
const section = document.querySelector(`[data-program="${arguments[0]}"]`);
const slider = section.querySelector('input[type=range]');
slider.value = Number(slider.max) / 2;
slider.dispatchEvent(new Event('input', { bubbles: true }));
const { x, y, z, line } = section.dataset;
return { at: [x, y, z].map(Number), line: Number(line), time: Number(slider.value), total: Number(slider.max) };
"""


def at_half_time(browser, page):
    """The slider at half time shows the tool where the trace of the same bytes has it, within 0.1 mm."""
    browser.ask("/url", url=page.resolve().as_uri())
    report = json.loads((page.parent / "report.json").read_text())
    tool = Path(os.environ.get("CARGO_TARGET_DIR", "target")) / "release" / "bradawl"
    for program in report["programs"]:
        name = program["file"]
        shown = browser.ask("/execute/sync", script=HALF_TIME, args=[Path(name).stem])
        trace = page.parent / "trace.csv"
        command = [tool, "dry-run", page.parent / name, "--machine", program["machine"], "--trace", trace, "--quiet"]
        subprocess.run(command, check=True)
        with trace.open() as rows:
            moves = list(csv.DictReader(rows))
        trace.unlink()
        begun, here = 0.0, None
        before = after = [0.0, 0.0, 0.0]
        for move in moves:
            after = [float(move[axis]) for axis in ("x_mm", "y_mm", "z_mm")]
            if begun + float(move["seconds"]) >= shown["time"]:
                here = move
                break
            begun, before = begun + float(move["seconds"]), after
        low, high = [min(pair) - 0.1 for pair in zip(before, after)], [max(pair) + 0.1 for pair in zip(before, after)]
        on_the_way = all(l <= at <= h for l, at, h in zip(low, shown["at"], high))
        arc = here is not None and here["kind"].startswith("arc")
        if here is None or int(here["line"]) != shown["line"] or not (on_the_way or arc):
            wrong.append(f"{page.name}: {name} at half time stands at {shown}, and the trace has {before} to {after}, {here}")
    print(f"  {page.name}: {len(report['programs'])} sliders at half time, where the trace has the tool")


def on_paper(browser, page, pictures):
    browser.ask("/url", url=page.resolve().as_uri())
    a4 = {"width": 21.0, "height": 29.7}
    paper = base64.b64decode(browser.ask("/print", page=a4, background=True))
    (pictures / f"{page.stem}.pdf").write_bytes(paper)
    pages = len(re.findall(rb"/Type\s*/Page\b", paper))
    if not paper.startswith(b"%PDF-") or not pages:
        wrong.append(f"{page.name}: nothing came out of the printer")
    print(f"  {page.name}: {pages} pages of A4")


def main(folder, pictures):
    pictures.mkdir(parents=True, exist_ok=True)
    profile = tempfile.TemporaryDirectory(ignore_cleanup_errors=True)
    driver = subprocess.Popen(["chromedriver", "--port=0"], stdout=subprocess.PIPE, text=True)
    try:
        try:
            browser = Browser(driver, profile.name)
        except OSError as error:
            print(f"  the browser did not start: {error}")
            return 3
        try:
            for name in ("preview.html", "sheet.html"):
                look(browser, folder / name, pictures)
            at_half_time(browser, folder / "preview.html")
            on_paper(browser, folder / "sheet.html", pictures)
        except OSError as error:
            wrong.append(f"the browser gave up: {error}")
        finally:
            browser.ask("", "DELETE")
    finally:
        driver.terminate()
        driver.wait()
        profile.cleanup()
    for line in wrong:
        print(f"  {line}")
    return 1 if wrong else 0


if __name__ == "__main__":
    sys.exit(main(Path(sys.argv[1]), Path(sys.argv[2])))

"""Opens preview.html and sheet.html of one made job from disk in headless Chromium, network off, and
works the preview as a person would: by pointer, by keyboard, on a narrow screen, on paper.

Usage: browser.py FOLDER PICTURES [--axe AXE] [--machines MACHINES]

MACHINES is the folder of the job's machine files, where it is not `machines`. AXE is the folder of the npm package axe-core (https://github.com/dequelabs/axe-core), which looks for
what shuts people out; without it that is not looked for.

Speaks WebDriver (https://www.w3.org/TR/webdriver2/) to chromedriver with the standard library only.
Leaves a screenshot of each page, and the sheet as a PDF, in PICTURES. Exit 1 and a line for each
fault; 3 if the browser could not be started, 4 if it gave up on the way.
"""

import argparse
import base64
import csv
import json
import math
import os
import re
import shutil
import subprocess
import sys
import tempfile
import time
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


def at_half_time(browser, page, machines):
    """The slider at half time shows the tool where the trace of the same bytes has it, within 0.1 mm."""
    browser.ask("/url", url=page.resolve().as_uri())
    report = json.loads((page.parent / "report.json").read_text())
    tool = Path(os.environ.get("CARGO_TARGET_DIR", "target")) / "release" / "bradawl"
    for program in report["programs"]:
        name = program["file"]
        shown = browser.ask("/execute/sync", script=HALF_TIME, args=[Path(name).stem])
        trace = page.parent / "trace.csv"
        command = [tool, "dry-run", page.parent / name, "--machine", program["machine"], "--trace", trace, "--quiet"]
        command += ["--machines", machines] if machines else []
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


# Where a place of the work, millimetres from its corner, is on the screen.
ON_SCREEN = """
const stage = document.querySelector(`[data-program="${arguments[0]}"] .stage`);
stage.scrollIntoView({ block: 'center' });
const at = new DOMPoint(arguments[1], -arguments[2]).matrixTransform(stage.querySelector('svg.bed').getScreenCTM());
return [at.x, at.y];
"""
NEXT_FRAMES = "requestAnimationFrame(() => requestAnimationFrame(arguments[0]))"
SAID = """
const section = document.querySelector(`[data-program="${arguments[0]}"]`);
return [section.querySelector('.place').innerText, Number(section.dataset.seconds)];
"""


def point_at(browser, x, y):
    move = {"type": "pointerMove", "x": round(x), "y": round(y), "origin": "viewport", "duration": 20}
    mouse = {"type": "pointer", "id": "mouse", "actions": [move]}
    browser.ask("/actions", actions=[mouse])
    # A browser hands the pointer's moves to the page with its next frame.
    browser.ask("/execute/async", script=NEXT_FRAMES, args=[])


def type_keys(browser, keys):
    presses = [{"type": kind, "value": key} for key in keys for kind in ("keyDown", "keyUp")]
    browser.ask("/actions", actions=[{"type": "key", "id": "keys", "actions": presses}])


def told_right(browser, page, program, name, at):
    """The words beside the picture: this hole, its place in the program, and the line that makes it."""
    # On a busy machine the page has not always heard of the pointer yet.
    for _ in range(20):
        said, _ = browser.ask("/execute/sync", script=SAID, args=[Path(program).stem])
        words = said.replace("−", "-")
        if re.search(rf" {re.escape(name)}\n", words):
            break
        time.sleep(0.1)
    where = re.search(r"in the program: X (-?[\d.]+), Y (-?[\d.]+) mm", words)
    line = re.search(r"line (\d+) of the program", words)
    right = re.search(rf"(Hole|Mark) {re.escape(name)}\n", words) and "on the panel: " in words and where and line
    if right:
        near = all(abs(float(n) - m) < 0.02 for n, m in zip(where.groups(), at))
        made = (page.parent / program).read_text().splitlines()[int(line[1]) - 1]
        right = near and re.search(r"[XYZ]-?\d", made)
    if not right:
        wrong.append(f"{page.name}: {program}: pointing at {name} at {at} says {said!r}")


def by_hand(browser, page):
    """A pointer on a hole, then keys alone."""
    browser.ask("/window/rect", width=1280, height=900)
    browser.ask("/url", url=page.resolve().as_uri())
    report = json.loads((page.parent / "report.json").read_text())
    for program in report["programs"]:
        name = Path(program["file"]).stem
        # Each set-up has its own holes, where they lie in it.
        places = {made["name"]: made["at_mm"] for made in program["makes"]}
        cover = re.search(r"fabric(?:-(\d+))?", name)
        if cover:
            marks = report["fabric"]["marks"]
            several = len({mark["piece"] for mark in marks}) > 1
            piece = int(cover[1]) if several else 1
            places = {mark["name"]: mark["back_mm"] for mark in marks if mark["piece"] == piece}
        for button in list(places)[:: max(1, len(places) // 3)]:
            x, y = browser.ask("/execute/sync", script=ON_SCREEN, args=[name, *places[button]])
            point_at(browser, x, y)
            told_right(browser, page, program["file"], button, places[button])
    first = Path(report["programs"][0]["file"]).stem
    focus = "document.querySelector(`[data-program=${arguments[0]}] .stage`).focus()"
    browser.ask("/execute/sync", script=focus, args=[first])
    enter, tab, arrows = "\ue007", "\ue004", ["\ue014", "\ue012", "\ue013", "\ue015"]

    def step():
        """To a neighbour, whichever way there is one."""
        was, _ = browser.ask("/execute/sync", script=SAID, args=[first])
        for arrow in arrows:
            type_keys(browser, [arrow])
            said, _ = browser.ask("/execute/sync", script=SAID, args=[first])
            if said != was:
                return said
        return None

    type_keys(browser, [arrows[0]])
    _, begun = browser.ask("/execute/sync", script=SAID, args=[first])
    moved = step()
    type_keys(browser, [enter])
    _, later = browser.ask("/execute/sync", script=SAID, args=[first])
    if not moved or later <= begun:
        wrong.append(f"{page.name}: keys alone go from {begun} s to {moved!r} at {later} s")
    type_keys(browser, ["m"])
    said = step() or ""
    type_keys(browser, ["m"])
    here, there = re.search(r"(?:Hole|Mark) (\S+)", said), re.search(r"from (\S+): ([\d.]+) (mm|in)", said)
    front = {b["name"]: b["front_mm"] for b in report["layout"]["buttons"]}
    if "fabric" in first:
        front = {mark["name"]: mark["back_mm"] for mark in report["fabric"]["marks"] if mark["piece"] == 1}
    apart = there and math.dist(front[here[1]], front[there[1]]) / (25.4 if there[3] == "in" else 1)
    if not there or abs(float(there[2]) - apart) > 0.01:
        wrong.append(f"{page.name}: measured {said!r}, and it is {apart}")
    # Out of the picture, over the zoom buttons, to the one that plays.
    type_keys(browser, [tab] * 4)
    focused = browser.ask("/execute/sync", script="return document.activeElement.innerText", args=[])
    type_keys(browser, [" "])
    now = browser.ask("/execute/sync", script="return document.activeElement.innerText", args=[])
    type_keys(browser, [" "])
    if [focused, now] != ["Play", "Pause"]:
        wrong.append(f"{page.name}: Tab from the picture reaches {focused!r}, and Space makes it {now!r}")
    print(f"  {page.name}: pointed at and walked through by keys")


def devtools(browser, command, **settings):
    return browser.ask("/goog/cdp/execute", cmd=command, params=settings)


# What sticks out of a narrow screen, but for what scrolls by itself.
STICKS_OUT = """
const wide = document.documentElement.clientWidth;
return [document.documentElement.scrollWidth, wide];
"""


def narrow(browser, page, pictures):
    devtools(browser, "Emulation.setDeviceMetricsOverride", width=360, height=740, deviceScaleFactor=2, mobile=True)
    browser.ask("/url", url=page.resolve().as_uri())
    needs, has = browser.ask("/execute/sync", script=STICKS_OUT, args=[])
    if needs > has:
        wrong.append(f"{page.name}: on a screen {has} wide it needs {needs}")
    picture = devtools(browser, "Page.captureScreenshot", captureBeyondViewport=True)["data"]
    (pictures / f"{page.stem}-narrow.png").write_bytes(base64.b64decode(picture))
    devtools(browser, "Emulation.clearDeviceMetricsOverride")
    print(f"  {page.name}: nothing sticks out of a narrow screen")


SHUTS_OUT = """
const done = arguments[arguments.length - 1];
axe.run(document).then(found => done(found.violations.map(fault =>
  [fault.impact, fault.id, fault.nodes.slice(0, 3).map(node => node.target.join(' '))])));
"""


def for_everybody(browser, page, axe):
    source = (axe / "axe.min.js").read_text()
    for scheme in ("light", "dark"):
        devtools(browser, "Emulation.setEmulatedMedia", features=[{"name": "prefers-color-scheme", "value": scheme}])
        browser.ask("/url", url=page.resolve().as_uri())
        browser.ask("/execute/sync", script=source, args=[])
        found = browser.ask("/execute/async", script=SHUTS_OUT, args=[])
        wrong.extend(f"{page.name}, {scheme}: {fault}" for fault in found if fault[0] in ("serious", "critical"))
        lesser = [fault[1] for fault in found if fault[0] not in ("serious", "critical")]
        print(f"  {page.name}, {scheme}: {len(found)} faults found by axe-core, lesser: {lesser}")
    devtools(browser, "Emulation.setEmulatedMedia", features=[])


# Plays for a while at the fastest pace, and times what the page does in each frame.
PLAYS = """
const done = arguments[arguments.length - 1], took = [], ask = window.requestAnimationFrame;
window.requestAnimationFrame = call => ask(now => {
  const begun = performance.now();
  call(now);
  took.push(performance.now() - begun);
});
const section = document.querySelector('[data-program]');
section.querySelector('[value="60"]').click();
section.querySelector('.play').click();
setTimeout(() => { section.querySelector('.play').click(); done(took.sort((a, b) => a - b)); }, 4000);
"""


def smooth(browser, page):
    browser.ask("/window/rect", width=1280, height=900)
    browser.ask("/url", url=page.resolve().as_uri())
    took = browser.ask("/execute/async", script=PLAYS, args=[])
    if len(took) < 5:
        wrong.append(f"{page.name}: plays {len(took)} frames in 4 s")
        return
    middle, slow = took[len(took) // 2], took[len(took) * 95 // 100]
    if middle > 1000 / 60:
        wrong.append(f"{page.name}: a frame takes {middle:.1f} ms")
    print(f"  {page.name}: {page.stat().st_size} bytes; a frame takes {middle:.1f} ms, one in twenty over {slow:.1f} ms")


def watched(browser, page):
    """Opened with ?watch, the page loads itself again once its file is another, and only then."""
    with tempfile.TemporaryDirectory() as folder:
        copy = Path(folder) / page.name
        before = page.read_text()
        copy.write_text(before)
        browser.ask("/url", url=copy.resolve().as_uri() + "?watch")
        browser.ask("/execute/sync", script="window.first = true", args=[])
        time.sleep(2.5)
        if not browser.ask("/execute/sync", script="return window.first === true", args=[]):
            wrong.append(f"{page.name}: loaded itself again though its file had not changed")
        # Whatever changes the page changes its stamp.
        stamp = re.search(r'const stamp = "([0-9a-f]{64})"', before)[1]
        copy.write_text(before.replace(stamp, "0" * 64).replace("<h1>", "<h1>Anew: ", 1))
        for _ in range(50):
            time.sleep(0.1)
            if browser.ask("/execute/sync", script="return document.querySelector('h1').innerText", args=[]).startswith("Anew: "):
                break
        else:
            wrong.append(f"{page.name}: did not load itself again when its file changed")
    print(f"  {page.name}: loads itself again when its file changes")


def on_paper(browser, page, pictures):
    browser.ask("/url", url=page.resolve().as_uri())
    a4 = {"width": 21.0, "height": 29.7}
    paper = base64.b64decode(browser.ask("/print", page=a4, background=True))
    (pictures / f"{page.stem}.pdf").write_bytes(paper)
    pages = len(re.findall(rb"/Type\s*/Page\b", paper))
    if not paper.startswith(b"%PDF-") or not pages:
        wrong.append(f"{page.name}: nothing came out of the printer")
    print(f"  {page.name}: {pages} pages of A4")


def main(folder, pictures, axe, machines):
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
            at_half_time(browser, folder / "preview.html", machines)
            watched(browser, folder / "preview.html")
            by_hand(browser, folder / "preview.html")
            smooth(browser, folder / "preview.html")
            for name in ("preview.html", "sheet.html"):
                narrow(browser, folder / name, pictures)
                on_paper(browser, folder / name, pictures)
                if axe:
                    for_everybody(browser, folder / name, axe)
        except OSError as error:
            print(f"  the browser gave up: {error}")
            return 4
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
    typed = argparse.ArgumentParser()
    for name in ("folder", "pictures", "--axe", "--machines"):
        typed.add_argument(name, type=Path)
    sys.exit(main(**vars(typed.parse_args())))

"""Opens preview.html and sheet.html of one made job from disk in headless Chromium, network off.

Usage: browser.py FOLDER PICTURES

Speaks WebDriver (https://www.w3.org/TR/webdriver2/) to chromedriver with the standard library only.
Leaves a screenshot of each page, and the sheet as a PDF, in PICTURES. Exit 1 and a line for each
fault; 3 if the browser could not be started.
"""

import base64
import json
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

"""Reads fabric.plt with ezhpgl (PyPI), which knows nothing of this project, and holds what it draws against
the marks of report.json.

usage: plotted.py FOLDER
A mark on the cover is two short lines that cross at it: each mark must be the middle of two lines that the
other reader finds. Exit 1 and a line for each mark that is not.
"""

import json
import sys
from pathlib import Path

import ezhpgl

folder = Path(sys.argv[1])
plot = ezhpgl.parse((folder / "fabric.plt").read_bytes())
marks = json.loads((folder / "report.json").read_text())["fabric"]["marks"]
if plot.completeness != "complete" or plot.units != "mm":
    sys.exit(f"read as {plot.completeness}, in {plot.units}: {plot.diagnostics}")
lines = []
for page in plot.pages:
    for operation in page.operations:
        points = operation.geometry.points
        lines += zip(points, points[1:])
middles = [((a.x + b.x) / 2, (a.y + b.y) / 2) for a, b in lines]
missing = 0
for mark in marks:
    x, y = mark["back_mm"]
    here = sum(abs(x - mx) < 0.03 and abs(y - my) < 0.03 for mx, my in middles)
    if here != 2:
        missing += 1
        print(f"mark {mark['name']} at {x}, {y}: the middle of {here} lines, not of 2")
print(f"{len(marks)} marks, {len(lines)} lines")
sys.exit(1 if missing or not marks else 0)

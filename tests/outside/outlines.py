"""Outlines against the outside: drawings written by ezdxf (PyPI), each entity in each version, come in the same
within 0.01 mm; areas, distances and openings of every shape are those of shapely (PyPI).

Usage: outlines.py BRADAWL. Exit 1 and a line for each fault.
"""

import json
import logging
import math
import subprocess
import sys
import tempfile
from pathlib import Path

import ezdxf
from ezdxf.math import bulge_to_arc
from shapely import affinity, box
from shapely.geometry import Point, Polygon

WITHIN = 0.01
FLAT = 0.0005
JOB = """title = "Outline"
{panel}
[board]
thickness = 12
hole = 8
[foam]
thickness = 50
hole = 30
[button]
diameter = 20
[pattern.diamond]
width = {width}
height = {height}
fit = "exact"
edge = 60
{pattern}
[fabric]
roll_width = 19000
turn_in = 75
[fabric.allowance.measured]
across = 60
down = 50
{areas}
[on]
"""
VERSIONS = ["R12", "R2000", "R2004", "R2007", "R2010", "R2013", "R2018"]
wrong = []
logging.getLogger("ezdxf").setLevel(logging.ERROR)


def lines(msp, *ends, layer="EDGE"):
    for a, b in ends:
        msp.add_line(a, b, dxfattribs={"layer": layer})


def box_with_arc(msp):
    lines(msp, [(0, 0), (600, 0)], [(600, 400), (600, 0)], [(0, 400), (0, 0)])
    msp.add_arc((300, 400), 300, 0, 180, dxfattribs={"layer": "EDGE"})


def polyline(msp):
    corners = [(0, 0, 0), (700, 0, 0.2), (700, 500, -0.1), (300, 560, 0.5), (0, 500, 0)]
    msp.add_polyline2d(corners, format="xyb", close=True, dxfattribs={"layer": "EDGE"})


def lwpolyline(msp):
    corners = [(0, 0, 0), (700, 0, 0.2), (700, 500, -0.1), (300, 560, 0.5), (0, 500, 0)]
    msp.add_lwpolyline(corners, format="xyb", close=True, dxfattribs={"layer": "EDGE"})


def turned_over(msp):
    corners = [(0, 0, 0), (700, 0, 0.2), (700, 500, -0.1), (0, 500, 0)]
    msp.add_lwpolyline(corners, format="xyb", close=True, dxfattribs={"layer": "EDGE", "extrusion": (0, 0, -1)})


def spline(msp):
    points = [(0, 0), (250, -80), (600, 0), (720, 300), (500, 520), (300, 430), (80, 560), (-60, 250)]
    msp.add_open_spline([(*p, 0) for p in [*points, points[0]]], degree=3, dxfattribs={"layer": "EDGE"})


def rational(msp):
    curve = msp.add_rational_spline(
        [(0, 400, 0), (150, 700, 0), (450, 700, 0), (600, 400, 0)], weights=[1, 2, 0.7, 1], dxfattribs={"layer": "EDGE"})
    assert curve.closed is False
    lines(msp, [(0, 400), (0, 0)], [(0, 0), (600, 0)], [(600, 0), (600, 400)])


CASES = {
    "lines and an arc": ("R12", box_with_arc),
    "a circle": ("R12", lambda msp: msp.add_circle((30, -40), 350, dxfattribs={"layer": "EDGE"})),
    "a polyline": ("R12", polyline),
    "a light polyline": ("R2000", lwpolyline),
    "a light polyline seen from behind": ("R2000", turned_over),
    "an ellipse": ("R2000", lambda msp: msp.add_ellipse((0, 0), (340, 130), 0.6, dxfattribs={"layer": "EDGE"})),
    "half an ellipse": ("R2000", lambda msp: (
        msp.add_ellipse((0, 0), (-380, 0), 0.5, math.pi, 2 * math.pi, dxfattribs={"layer": "EDGE"}),
        lines(msp, [(-380, 0), (380, 0)]))),
    "a closed spline": ("R2000", spline),
    "a rational spline": ("R2000", rational),
}


def centred(shape):
    x0, y0, x1, y1 = shape.bounds
    return affinity.translate(shape, -(x0 + x1) / 2, -(y0 + y1) / 2)


def ours(corners):
    """Corners with bulges as a polygon of straight pieces."""
    points = []
    for (x, y, bulge), (x2, y2, _) in zip(corners, corners[1:] + corners[:1]):
        points.append((x, y))
        if bulge:
            centre, start, end, radius = bulge_to_arc((x, y), (x2, y2), bulge)
            turn = (end - start) % math.tau
            n = max(2, math.ceil(turn / (2 * math.acos(max(0.0, 1 - FLAT / radius)))))
            angles = [start + turn * i / n for i in range(1, n)]
            if bulge < 0:
                angles.reverse()
            points.extend((centre.x + radius * math.cos(a), centre.y + radius * math.sin(a)) for a in angles)
    return Polygon(points)


def flattened(entity):
    """An entity as strings of points on it. Not by way of ezdxf.path, whose arcs are Bezier curves 0.1 mm off."""
    match entity.dxftype():
        case "LINE":
            return [[(p.x, p.y) for p in (entity.dxf.start, entity.dxf.end)]]
        case "LWPOLYLINE" | "POLYLINE":
            return [string for part in entity.virtual_entities() for string in flattened(part)]
        case _:
            return [[(p.x, p.y) for p in entity.flattening(FLAT)]]


def theirs(msp):
    """The ring that the layer's entities make, flattened and joined by ezdxf and shapely."""
    strings = [string for entity in msp.query('*[layer=="EDGE"]') for string in flattened(entity)]
    ring = strings.pop(0)
    while strings:
        ends = [(math.dist(ring[-1], s[end]), i, end) for i, s in enumerate(strings) for end in (0, -1)]
        off, i, end = min(ends)
        assert off < 1e-3, off
        ring += strings.pop(i)[:: -1 if end else 1][1:]
    assert math.dist(ring[0], ring[-1]) < 1e-3, (ring[0], ring[-1])
    return Polygon(ring)


def report(tool, folder, panel, areas="", per_mm=1.0, pattern=""):
    """What is found of a panel; its diamonds grow with it, so that no drawing in inches has thousands of buttons."""
    job = folder / "job.toml"
    job.write_text(JOB.format(panel=panel, areas=areas, width=90 * per_mm, height=130 * per_mm, pattern=pattern))
    run = subprocess.run([tool, "layout", job, "--json"], capture_output=True, text=True)
    if run.returncode:
        wrong.append(f"{panel}: {run.stderr.strip()}")
        return None
    return json.loads(run.stdout)


def drawings(tool, folder):
    done = 0
    for version in VERSIONS:
        for name, (first, draw) in CASES.items():
            if VERSIONS.index(version) < VERSIONS.index(first):
                continue
            for unit, word, per_mm in ((4, "mm", 1.0), (1, "in", 25.4)):
                document = ezdxf.new(version, units=unit)
                document.layers.add("EDGE")
                space = document.modelspace()
                draw(space)
                lines(space, [(0, 0), (50, 50)], layer="OTHER")
                document.saveas(folder / "outline.dxf")
                # R12 has no unit of its own, so the job says it.
                stated = f'units = "{word}"' if version == "R12" else ""
                panel = f'[panel.drawing]\nfile = "outline.dxf"\nlayer = "EDGE"\n{stated}'
                found = report(tool, folder, panel, per_mm=per_mm)
                if found is None:
                    continue
                wanted = centred(affinity.scale(theirs(space), per_mm, per_mm, origin=(0, 0)))
                got = ours(found["panel"]["outline_mm"])
                off = wanted.exterior.hausdorff_distance(got.exterior)
                if off > WITHIN * per_mm:
                    wrong.append(f"{version}, {name}, unit {unit}: off by {off:.4f} mm")
                done += 1
    print(f"  {done} drawings come in the same within {WITHIN} mm")


def surveys(tool, folder):
    """Old buttons drawn by ezdxf, as circles and as points, in each version: the same places."""
    places = [(120 + 130 * c + 65 * (r % 2), 100 + 90 * r) for r in range(5) for c in range(5 - r % 2)]
    done = 0
    for version in VERSIONS:
        for kind in ("circle", "point"):
            document = ezdxf.new(version, units=4)
            space = document.modelspace()
            for place in places:
                at = {"layer": "BUTTONS"}
                space.add_circle(place, 8, dxfattribs=at) if kind == "circle" else space.add_point(place, dxfattribs=at)
            lines(space, [(0, 0), (760, 0)])
            document.saveas(folder / "old.dxf")
            stated = ', units = "mm"' if version == "R12" else ""
            found = report(
                tool, folder, "[panel.rectangle]\nwidth = 760\nheight = 560",
                pattern=f'measured = {{ file = "old.dxf", layer = "BUTTONS"{stated} }}', per_mm=1.4)
            if found is None:
                continue
            got = sorted(tuple(b["front_mm"]) for b in found["layout"]["buttons"])
            wanted = sorted((x - 380, y - 280) for x, y in places)
            if len(got) != len(wanted) or any(math.dist(a, b) > WITHIN for a, b in zip(got, wanted)):
                wrong.append(f"{version}: drawn {kind}s are not where they were drawn")
            done += 1
    print(f"  {done} surveys drawn as circles and points come in the same within {WITHIN} mm")


SHAPES = [
    "[panel.rectangle]\nwidth = 900\nheight = 600\nradius = { top_left = 200, bottom_right = 40 }",
    "[panel.arch]\nwidth = 900\nheight = 700\nrise = 250",
    '[panel.arch]\nwidth = 900\nheight = 700\nrise = 250\narcs = "three"',
    '[panel.shouldered]\nwidth = 1200\nheight = 700\nshoulder_width = 200\nshoulder_drop = 120\nshoulder = "scoop"\nrise = 60',
    '[panel.shouldered]\nwidth = 1200\nheight = 700\nshoulder_width = 200\nshoulder_drop = 120\nshoulder = "swept"',
    "[panel.ellipse]\nwidth = 1000\nheight = 640",
    "[panel.polygon]\npoints = [[0, 0], [800, 0, 60], [900, 500, 80], [400, 380, 50], [0, 620]]",
    '[panel.path]\ndata = "M0 0 C 200 -120 500 80 700 -40 S 900 300 760 500 Q 400 700 0 480 Z"',
]


def shapes(tool, folder):
    opening = '[[opening]]\nreason = "socket"\nat = [40, -60]\nwidth = 120\nheight = 90\nradius = 12\nclear = 40'
    for panel in SHAPES:
        found = report(tool, folder, panel, opening)
        if found is None:
            continue
        name = panel.split("\n")[0]
        outline = ours(found["panel"]["outline_mm"])
        for what, got, wanted in (
            ("area", found["panel"]["area_mm2"], outline.area),
            ("perimeter", found["panel"]["perimeter_mm"], outline.exterior.length),
        ):
            if abs(got / wanted - 1) > 1e-5:
                wrong.append(f"{name}: {what} {got}, shapely has {wanted}")
        socket = box(-60 + 40 + 12, -45 - 60 + 12, 60 + 40 - 12, 45 - 60 - 12).buffer(12, quad_segs=200)
        (hole,) = found["panel"]["openings_mm"]
        if ours(hole).symmetric_difference(socket).area > 1.0:
            wrong.append(f"{name}: the opening is not where it was asked for")
        room = outline.buffer(-60, quad_segs=200).difference(socket.buffer(40, quad_segs=200))
        for button in found["layout"]["buttons"]:
            if room.distance(Point(button["front_mm"])) > WITHIN:
                wrong.append(f"{name}: button {button['name']} stands where none may")
        least = min(outline.exterior.distance(Point(b["front_mm"])) for b in found["layout"]["buttons"])
        if abs(least - found["layout"]["nearest_edge_mm"]) > WITHIN:
            wrong.append(f"{name}: nearest edge {found['layout']['nearest_edge_mm']}, shapely has {least}")
    print(f"  {len(SHAPES)} shapes: areas, perimeters, openings and edges are shapely's")


with tempfile.TemporaryDirectory() as place:
    tool = str(Path(sys.argv[1]).resolve())
    drawings(tool, Path(place))
    surveys(tool, Path(place))
    shapes(tool, Path(place))
for fault in wrong:
    print(f"  FAULT {fault}")
sys.exit(1 if wrong else 0)

"""Reads the drawings of one made job with ezdxf and compares them with report.json.

Usage: drawings.py JOB.toml FOLDER

The positions expected are worked out here once more, from the job file and the report: a sheet lies
with its lower left corner at 0, 0, a cover with its back up. Exit 1 and a line for each difference.
"""

import json
import re
import sys
import tomllib
from fractions import Fraction
from pathlib import Path

import ezdxf
from ezdxf import bbox

WITHIN = 0.001  # mm
MM = {"mm": 1, "cm": 10, "in": Fraction("25.4"), '"': Fraction("25.4"), "line": Fraction("0.635")}

wrong = []


def expect(true, words):
    if not true:
        wrong.append(words)


def near(found, wanted):
    return all(abs(a - b) <= WITHIN for a, b in zip(found, wanted, strict=True))


def mm(length, bare):
    """A length of a job file: 9, -9, "9 in", "7 1/4 in", "7-1/4 in", "30 line"."""
    if not isinstance(length, str):
        return length * MM[bare]
    number, unit = re.fullmatch(r'([\d./ -]*\d\.?) *([a-z"]*)', str(length).strip()).groups()
    return float(sum(map(Fraction, re.split("[ -]", number))) * MM[unit or bare])


def same(found, wanted, what):
    """Each place found is one wanted and not yet taken; none is left over."""
    left = list(wanted)
    for x, y in found:
        nearest = min(left, key=lambda p: (p[0] - x) ** 2 + (p[1] - y) ** 2, default=None)
        if nearest is not None and near((x, y), nearest):
            left.remove(nearest)
        else:
            wrong.append(f"{what} at {x:.3f}, {y:.3f} that report.json does not know")
    wrong.extend(f"no {what} at {x:.3f}, {y:.3f}" for x, y in left)


def audited(path):
    """The drawing by the strict reader, which refuses what it would have to guess."""
    drawing = ezdxf.readfile(path, errors="strict")
    audit = drawing.audit()
    for entry in [*audit.errors, *audit.fixes]:
        wrong.append(f"audit: {entry.message}")
    expect(drawing.dxfversion == "AC1009", f"version {drawing.dxfversion}, not R12")
    expect(drawing.header.get("$INSUNITS") == 4, "millimetres are not stated")
    expect(drawing.header.get("$MEASUREMENT") == 1, "metric is not stated")
    return drawing


def extents(drawing):
    """$EXTMIN and $EXTMAX against what is drawn; a text counts with its corner and height."""
    texts = drawing.modelspace().query("TEXT")
    box = bbox.extents(drawing.modelspace().query("* !TEXT"), fast=False)
    for text in texts:
        box.extend([text.dxf.insert, text.dxf.insert + (0, text.dxf.height, 0)])
    for key, corner in (("$EXTMIN", box.extmin), ("$EXTMAX", box.extmax)):
        stated = drawing.header[key]
        expect(near(stated, corner), f"{key} is {stated}, drawn to {corner}")


def titled(drawing, job):
    texts = [ezdxf.decode_dxf_unicode(e.plain_text()) for e in drawing.modelspace().query("TEXT")]
    expect(any(job["title"] in text for text in texts), f"the title is not among {texts}")


def corners(drawing, layer):
    """Lower left and upper right corner of what lies on a layer."""
    box = bbox.extents(drawing.modelspace().query(f'*[layer=="{layer}"]'))
    return [*box.extmin.vec2], [*box.extmax.vec2]


def holes(drawing, job, report, work):
    """Board and foam: lower left corner at 0, 0; mirrored left to right when the back lies up."""
    bare = job.get("units", "mm")
    low, size = corners(drawing, "OUTLINE")
    # A board that is cut out lies in a larger sheet.
    cut_out = job[work].get("cut_out", False)
    margin = 0 if not cut_out else 30 if cut_out is True else mm(cut_out.get("margin", 30), bare)
    expect(near(low, [margin, margin]), f"the outline begins at {low}")
    size = [far - near_by for far, near_by in zip(size, low)]
    if rectangle := job["panel"].get("rectangle"):
        asked = [mm(rectangle["width"], bare), mm(rectangle["height"], bare)]
        expect(near(size, asked), f"outline of {size}, panel of {asked}")
    mirror = -1 if job[work].get("face_up", "front") == "back" else 1
    front = [button["front_mm"] for button in report["layout"]["buttons"]]
    wanted = [(mirror * x + size[0] / 2 + margin, y + size[1] / 2 + margin) for x, y in front]
    circles = [c for c in drawing.modelspace().query("CIRCLE") if c.dxf.layer != "OTHER-HOLES"]
    others = [c for c in drawing.modelspace().query("CIRCLE") if c.dxf.layer == "OTHER-HOLES"]
    asked = job[work].get("holes", []) if isinstance(job[work].get("holes"), list) else []
    same(
        [circle.dxf.center.vec2 for circle in others],
        [(mirror * mm(h["at"][0], bare) + size[0] / 2 + margin, mm(h["at"][1], bare) + size[1] / 2 + margin) for h in asked],
        "other hole",
    )
    same([circle.dxf.center.vec2 for circle in circles], wanted, "hole")
    hole = mm(job[work]["hole"], bare)
    for circle in circles:
        across, layer = 2 * circle.dxf.radius, circle.dxf.layer
        expect(near([across], [hole]), f"a hole of {across} mm, not {hole} mm")
        expect(layer.startswith("HOLES"), f"a hole on layer {layer}")
    return f"{len(circles)} holes"


def marks(drawing, report, piece, all_round):
    """A piece of the cover from its back: a level and an upright stroke through every mark."""
    known = [mark for mark in report["fabric"]["marks"] if mark["piece"] == piece]
    lines = [e for e in drawing.modelspace().query("LINE") if e.dxf.layer == "BUTTON-MARKS"]
    strokes = [(line.dxf.start.vec2, line.dxf.end.vec2) for line in lines]
    for what, across in (("level stroke", 1), ("upright stroke", 0)):
        middles = [a.lerp(b) for a, b in strokes if abs((b - a)[across]) <= WITHIN]
        same(middles, [mark["back_mm"] for mark in known], what)
    expect(len(strokes) == 2 * len(known), f"{len(strokes)} strokes for {len(known)} marks")
    low, high = corners(drawing, "CUT-LINE")
    cut = report["fabric"]["pieces_cut_mm"][piece - 1]
    # What is named from left to right on the front runs from right to left on the back; what is named clockwise round the
    # middle, anticlockwise.
    in_rows = [mark for mark in known if "-" in mark["name"]]
    named = sorted((*map(int, mark["name"].split("-")), *mark["back_mm"]) for mark in in_rows)
    for (row, column, x, y), (next_row, _, next_x, next_y) in zip(named, named[1:]):
        from_middle = [c - cut[axis] / 2 for axis, c in enumerate((x, y))]
        to_middle = [c - cut[axis] / 2 for axis, c in enumerate((next_x, next_y))]
        onwards = from_middle[0] * to_middle[1] - from_middle[1] * to_middle[0] > 0 if all_round else next_x < x
        expect(row != next_row or onwards, f"mark {row}-{column} does not lie before the next")
    expect(near(low + high, [0, 0, *cut]), f"cut line from {low} to {high}, cut size {cut}")
    return f"{len(known)} marks"


def main(job_file, folder):
    job = tomllib.loads(job_file.read_text(encoding="utf-8"))
    report = json.loads((folder / "report.json").read_text(encoding="utf-8"))
    expect(report["layout"]["buttons"], "a report without buttons")
    all_round = job["pattern"].get("fan", {}).get("sweep") == 360
    pieces = report["fabric"]["pieces"]
    covers = [f"fabric-{n}" for n in range(1, pieces + 1)] if pieces > 1 else ["fabric"]
    for work in ("board", "foam", *covers):
        before, what = len(wrong), "not read to the end"
        try:
            drawing = audited(folder / f"{work}.dxf")
            extents(drawing)
            titled(drawing, job)
            if work in covers:
                what = marks(drawing, report, covers.index(work) + 1, all_round)
            else:
                what = holes(drawing, job, report, work)
        except (ezdxf.DXFError, OSError, LookupError, ValueError) as error:
            wrong.append(f"{type(error).__name__}: {error}")
        print(f"  {work}.dxf: {what}, {'as reported' if len(wrong) == before else 'WRONG'}")
        for line in wrong[before:][:10]:
            print(f"    {line}")
    return 1 if wrong else 0


if __name__ == "__main__":
    sys.exit(main(Path(sys.argv[1]), Path(sys.argv[2])))

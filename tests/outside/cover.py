"""Solves the covers of irregular jobs once more, with a general-purpose solver, and compares the marks.

Usage: cover.py BRADAWL MACHINES FOLDER

The distances wanted are worked out here anew from the button places of report.json and the job's figures:
across a row, up a column, and along every pleat. scipy.optimize.least_squares (PyPI `scipy`; Branch, Coleman
and Li's method, as its documentation says) finds places of its own from another beginning; after laying
one over the other, no mark may be farther off than WITHIN. Exit 1 and a line for each difference.
"""

import json
import subprocess
import sys
from pathlib import Path

import numpy as np
from scipy.optimize import least_squares

WITHIN = 0.005  # mm

JOB = """
title = "{name}"
panel = {{ rectangle = {{ width = {width}, height = {height} }} }}
board = {{ thickness = 12, hole = 8 }}
foam = {{ thickness = 50, hole = 30 }}
button = {{ diameter = 22 }}
on = {{}}
pattern = {{ diamond = {{ across = {across}, rows = {rows}, top_row = "{top}", edge = 90 }} }}
[fabric]
roll_width = 9000
turn_in = 60
ease = 12
[fabric.allowance.measured]
across = {a}
down = {d}
"""

JOBS = [
    dict(name="fuller below", width=900, height=560, across=6, rows=5, top="long",
         a=[50, 52, 55, 59, 64], d=[36, 40, 46, 54]),
    dict(name="a full middle", width=1400, height=700, across=9, rows=7, top="short",
         a=[40, 44, 52, 60, 52, 44, 40], d=[38, 38, 44, 44, 38, 38]),
    dict(name="uneven", width=700, height=900, across=4, rows=8, top="long",
         a=[45, 50, 43, 55, 47, 52, 44, 49], d=[40, 30, 44, 35, 47, 33, 41]),
]


def wanted(job, places):
    """Pairs of names with the cloth between them."""
    long_first = job["top"] == "long"
    lattice = {}
    for name in places:
        row, column = map(int, name.split("-"))
        n = job["across"] - (0 if (row % 2 == 1) == long_first else 1)
        lattice[name] = (2 * (column - 1) - (n - 1), row)
    at = {v: k for k, v in lattice.items()}
    links = []
    for name, (x, row) in lattice.items():
        for dx, rows in ((2, 0), (0, 2), (1, 1), (-1, 1)):
            other = at.get((x + dx, row + rows))
            if other is None:
                continue
            a, b = places[name], places[other]
            across = abs(a[0] - b[0]) + abs(dx) / 2 * (job["a"][row - 1] + job["a"][row + rows - 1]) / 2
            down = abs(a[1] - b[1]) + sum(job["d"][row - 1 : row - 1 + rows]) / 2
            links.append((name, other, np.hypot(across, down)))
    return links


def solve(names, links, start):
    index = {name: i for i, name in enumerate(names)}
    a = np.array([index[l[0]] for l in links])
    b = np.array([index[l[1]] for l in links])
    length = np.array([l[2] for l in links])

    def residuals(flat):
        at = flat.reshape(-1, 2)
        return np.linalg.norm(at[b] - at[a], axis=1) - length

    found = least_squares(residuals, start.ravel(), xtol=1e-15, ftol=1e-15, gtol=1e-15, max_nfev=4000)
    return found.x.reshape(-1, 2)


def laid_over(a, b):
    """`a` moved and turned (never turned over) onto `b`, as near as it goes: Kabsch's method."""
    ca, cb = a.mean(axis=0), b.mean(axis=0)
    u, _, vt = np.linalg.svd((a - ca).T @ (b - cb))
    turn = u @ np.diag([1, np.sign(np.linalg.det(u @ vt))]) @ vt
    return (a - ca) @ turn + cb


def main():
    bradawl, machines, folder = sys.argv[1:]
    wrong = 0
    for job in JOBS:
        file = Path(folder) / (job["name"].replace(" ", "-") + ".toml")
        file.write_text(JOB.format(**job))
        made = file.with_suffix("")
        subprocess.run([bradawl, "make", file, "--machines", machines, "--out", made, "--quiet"], check=True)
        report = json.loads((made / "report.json").read_text())
        places = {b["name"]: b["front_mm"] for b in report["layout"]["buttons"]}
        # Seen from the back, so turned over: left and right are exchanged again here.
        marks = {m["name"]: (-m["back_mm"][0], m["back_mm"][1]) for m in report["fabric"]["marks"]}
        names = sorted(marks)
        ours = np.array([marks[name] for name in names])
        start = np.array([places[name] for name in names]) * 1.3
        theirs = laid_over(solve(names, wanted(job, places), start), ours)
        off = np.linalg.norm(theirs - ours, axis=1)
        worst = max(abs(s["per_cent"]) for s in report["fabric"]["strained"])
        print(f"  {job['name']}: {len(names)} marks, at most {off.max():.6f} mm apart, strain {worst:.2f} %")
        if off.max() > WITHIN:
            wrong += 1
            print(f"  {job['name']}: farther than {WITHIN} mm")
    sys.exit(1 if wrong else 0)


main()

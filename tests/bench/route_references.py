"""Runs general-purpose solvers on the cases that `cargo bench --bench route -- --dump DIR` wrote.

    python tests/bench/route_references.py DIR [WORD ...]

Each gets the time ours took (OR-tools ten times that, and at least a second). Needs NumPy and, for
either column, the PyPI packages fast_tsp (MIT) or ortools (Apache-2.0). A ratio above 1 means that
theirs is longer. Only closed tours of up to 2,500 places: both want the whole matrix.
"""

import json
import pathlib
import sys

import numpy

try:
    import fast_tsp
except ImportError:
    fast_tsp = None
try:
    from ortools.constraint_solver import pywrapcp, routing_enums_pb2
except ImportError:
    pywrapcp = None


def matrix(case):
    places = case["places"] + ([case["park"]] if case["park"] else [])
    spots = numpy.array(places)
    gaps = abs(spots[:, None, :] - spots[None, :, :])
    if case["kind"] == "time":
        m = (gaps * 60 / numpy.array(case["rapid"])).max(axis=2)
        q = (gaps / numpy.array(case["acceleration"])).max(axis=2)
        safe = numpy.where(m > 0, m, 1)
        return numpy.where(q < m * m, m + q / safe, 2 * numpy.sqrt(q))
    straight = numpy.sqrt((gaps**2).sum(axis=2))
    return numpy.floor(straight + 0.5) if case["kind"] == "nint" else straight


def length(costs, tour):
    return sum(costs[a, b] for a, b in zip(tour, tour[1:] + tour[:1]))


def by_fast_tsp(costs, seconds):
    whole = numpy.rint(costs * (60_000 / costs.max())).astype(int).tolist()
    return fast_tsp.find_tour(whole, duration_seconds=seconds, max_threads=1)


def by_ortools(costs, seconds):
    whole = numpy.rint(costs * (1e6 / costs.max())).astype(int).tolist()
    nodes = pywrapcp.RoutingIndexManager(len(whole), 1, 0)
    model = pywrapcp.RoutingModel(nodes)
    model.SetArcCostEvaluatorOfAllVehicles(model.RegisterTransitMatrix(whole))
    limits = pywrapcp.DefaultRoutingSearchParameters()
    limits.local_search_metaheuristic = (
        routing_enums_pb2.LocalSearchMetaheuristic.GUIDED_LOCAL_SEARCH
    )
    limits.time_limit.FromMilliseconds(int(1000 * max(1, 10 * seconds)))
    answer = model.SolveWithParameters(limits)
    at, tour = model.Start(0), []
    while not model.IsEnd(at):
        tour.append(nodes.IndexToNode(at))
        at = answer.Value(model.NextVar(at))
    return tour


def main():
    folder, words = pathlib.Path(sys.argv[1]), sys.argv[2:]
    print("| case | ours | seconds | fast_tsp | ortools |")
    print("| --- | ---: | ---: | ---: | ---: |")
    for path in sorted(folder.glob("*.json")):
        case = json.loads(path.read_text())
        wanted = not words or any(word in case["name"] for word in words)
        if not wanted or not case["closed"] or not 4 < len(case["places"]) <= 2500:
            continue
        costs = matrix(case)
        cells = []
        for there, solve in [(fast_tsp, by_fast_tsp), (pywrapcp, by_ortools)]:
            if there is None:
                cells.append("not installed")
                continue
            ratio = length(costs, solve(costs, max(case["seconds"], 0.01))) / case["cost"]
            cells.append(f"{ratio:.5f}")
        print(f"| {case['name']} | {case['cost']:.3f} | {case['seconds']:.3f} | {' | '.join(cells)} |", flush=True)


main()

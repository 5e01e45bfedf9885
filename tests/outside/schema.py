"""Holds `bradawl schema` against the reader of job and machine files, by a validator that is not ours (PyPI jsonschema).

Usage: schema.py BRADAWL

The schemas are schemas (draft 7). Every file that comes with the tool fits its schema. Each file is then spoilt in
many ways: whatever the reader still takes, the schema must take too, for it is never the stricter; and of what the
reader refuses for its keys, kinds and words, the schema finds most. Exit 1 and a line for each fault; 3 without jsonschema.
"""

import json
import subprocess
import sys
import tempfile
import tomllib
from pathlib import Path

try:
    from jsonschema import Draft7Validator
except ImportError:
    sys.exit(3)

OTHERS = [True, "sideways", -3, 0, 2.5, [1], {"a": 1}, "7 1/4 in", "36 line", "25 mm/s", "1/2\"", "12", "9 inn", 1e9]
wrong = []


def toml(value):
    """A value as TOML; tables inline, so that one line is one change."""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, str):
        return json.dumps(value)
    if isinstance(value, list):
        return "[" + ", ".join(map(toml, value)) + "]"
    if isinstance(value, dict):
        return "{" + ", ".join(f"{key} = {toml(item)}" for key, item in value.items()) + "}"
    return repr(value)


def written(data):
    return "".join(f"{key} = {toml(value)}\n" for key, value in data.items())


def spoilt(value):
    """The same data with one thing exchanged, left out, added or misspelt."""
    if isinstance(value, dict):
        for key in value:
            rest = {k: v for k, v in value.items() if k != key}
            yield rest
            yield {**rest, key + "x": value[key]}
            for other in spoilt(value[key]):
                yield {**value, key: other}
        yield {**value, "unheard_of": 1}
    elif isinstance(value, list):
        for i, item in enumerate(value):
            for other in spoilt(item):
                yield value[:i] + [other] + value[i + 1:]
    if not isinstance(value, (dict, list)) or value:
        yield from OTHERS


def takes(bradawl, kind, data, folder):
    """Whether the reader takes it; what the layout thinks of it is another matter."""
    machines = folder / "machines"
    machines.mkdir(exist_ok=True)
    name = "trial.toml" if kind == "job" else "machines/trial.toml"
    (folder / name).write_text(written(data))
    args = ["layout", "trial.toml"] if kind == "job" else ["machines"]
    run = subprocess.run([bradawl, *args, "--json"], cwd=folder, capture_output=True, text=True)
    return run.returncode == 0


def main(bradawl):
    counts = {}
    for kind, folder in (("job", "jobs"), ("machine", "machines")):
        text = subprocess.run([bradawl, "schema", kind], capture_output=True, text=True, check=True).stdout
        schema = json.loads(text)
        Draft7Validator.check_schema(schema)
        fits = Draft7Validator(schema).is_valid
        files = sorted(Path(folder).glob("*.toml"))
        if not files:
            wrong.append(f"no files in {folder}")
        both = caught = 0
        with tempfile.TemporaryDirectory() as work:
            for file in files:
                data = tomllib.loads(file.read_text())
                for error in Draft7Validator(schema).iter_errors(data):
                    wrong.append(f"{file}: {error.message}")
                if not takes(bradawl, kind, data, Path(work)):
                    wrong.append(f"{file}: not taken as written by this script")
                # Every third of the ways, beginning with each in turn, is plenty.
                others = [other for other in spoilt(data) if isinstance(other, dict)]
                for other in others[files.index(file) % 3::3]:
                    taken, fitting = takes(bradawl, kind, other, Path(work)), fits(other)
                    both += not taken
                    caught += not taken and not fitting
                    if taken and not fitting:
                        wrong.append(f"{file}: the reader takes this and the schema does not: {other}")
        counts[kind] = (both, caught)
        print(f"  {kind}: {len(files)} files; of {both} spoilt ones that are refused the schema finds {caught}")
        if caught < 0.5 * both:
            wrong.append(f"{kind}: the schema finds only {caught} of {both}")
    for line in wrong[:40]:
        print(f"  {line}")
    return 1 if wrong else 0


if __name__ == "__main__":
    sys.exit(main(str(Path(sys.argv[1]).resolve())))

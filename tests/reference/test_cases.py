"""Cases with known answers, through the case runner of `benches`.

Sources: data/cloth-and-passes (computed with HiGHS 1.16) and data/two-stage-csp (instances MIT, packingsolver; values
computed with HiGHS 1.16); see the READMEs there.

The runner goes so many rounds, not so many seconds, so that the result is the same on every machine. The open
cloth-and-passes cases and those with many fabrics take long and are run where REFERENCE_ALL=1 is set.
"""

import csv
import json
import os
import shutil
import subprocess

import pytest

from harness import HERE, RELEASE

ALL = os.environ.get("REFERENCE_ALL") == "1"
CLOTH = HERE / "data" / "cloth-and-passes"
ROLLS = HERE / "data" / "two-stage-csp"
MOST_FABRICS = 6  # a proved case with at most so many fabrics must be solved
ROUNDS_OF_CLOTH = 3
ROUNDS_OF_ROLLS = 1


def runner(*arguments):
    """Runs the case runner; returns {name: (value, bound, proved, seconds)}."""
    done = subprocess.run(
        [RELEASE / "patchlay-benches", "cases", *map(str, arguments)], capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
    rows = {}
    for row in csv.reader(done.stdout.splitlines()):
        if len(row) == 5 and row[0] != "name":
            name, value, bound, proved, seconds = row
            rows[name] = (float(value), float(bound), proved == "true", float(seconds))
    return rows


def test_cloth_and_passes(tmp_path):
    known = {path.stem: json.loads(path.read_text(encoding="utf-8")) for path in sorted(CLOTH.glob("cp*.json"))}
    must = {name for name, case in known.items() if case["proved"] and len(case["demand"]) <= MOST_FABRICS}
    chosen = {name: case for name, case in known.items() if ALL or name in must}
    assert len(known) == 20 and chosen
    for name in chosen:
        shutil.copy(CLOTH / f"{name}.json", tmp_path)
    rows = runner("cloth-and-passes", tmp_path, "--rounds", ROUNDS_OF_CLOTH)
    assert set(rows) == set(chosen)
    wrong = []
    for name, case in chosen.items():
        value, bound, proved, seconds = rows[name]
        best, least = case["best_known"], case["lower_bound"]
        print(f"{name}: {value} bound {bound} {proved} in {seconds} s; known {best}, at least {least}")
        if value < least - 1e-6 or bound > best + 1e-6 or bound > value + 1e-6 or (name in must and value != best):
            wrong.append(name)
    assert not wrong


def rolls():
    """{instance.H or instance.V: length} of the settled rolls with trimming allowed."""
    with open(ROLLS / "optima.csv", encoding="utf-8", newline="") as file:
        rows = [row for row in csv.DictReader(file) if row["instance"].endswith(".nonexact.roll") and row["optimum"]]
    return {row["instance"]: float(row["optimum"]) for row in rows}


def test_two_stage_rolls():
    known = rolls()
    assert len(known) == 32
    only = [argument for name in known for argument in ("--only", name)]
    rows = runner("two-stage-roll", ROLLS / "instances.jsonl", "--rounds", ROUNDS_OF_ROLLS, *only)
    wrong = []
    for name, length in known.items():
        value, bound, proved, seconds = rows[name]
        print(f"{name}: {value} bound {bound} {proved} in {seconds} s; known {length}")
        if value != length or bound > length:
            wrong.append(name)
    assert not wrong

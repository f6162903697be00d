"""Cases with known answers, through the case runner of `benches`.

Sources: data/cloth-and-passes (computed with HiGHS 1.16) and data/two-stage-csp (instances MIT, packingsolver; values
computed with HiGHS 1.16); see the READMEs there.

All cases take long, so a sample is run unless REFERENCE_ALL=1 is set: the cloth-and-passes cases that their solver
needed less than two seconds for, and every fourth roll.
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
    chosen = {name: case for name, case in known.items() if ALL or case["seconds"] < 2}
    assert len(known) == 20 and chosen
    for name in chosen:
        shutil.copy(CLOTH / f"{name}.json", tmp_path)
    rows = runner("cloth-and-passes", tmp_path)
    assert set(rows) == set(chosen)
    wrong = []
    for name, case in chosen.items():
        value, bound, proved, seconds = rows[name]
        best, least = case["best_known"], case["lower_bound"]
        print(f"{name}: {value} bound {bound} {proved} in {seconds} s; known {best}, at least {least}")
        small = case["proved"] and len(case["demand"]) <= MOST_FABRICS
        if value < least - 1e-6 or bound > best + 1e-6 or bound > value + 1e-6 or (small and value != best):
            wrong.append(name)
    assert not wrong


def rolls():
    """{instance.H or instance.V: length} of the settled rolls with trimming allowed."""
    with open(ROLLS / "optima.csv", encoding="utf-8", newline="") as file:
        rows = [row for row in csv.DictReader(file) if row["instance"].endswith(".nonexact.roll") and row["optimum"]]
    return {row["instance"]: float(row["optimum"]) for row in rows}


def test_two_stage_rolls(tmp_path):
    known = rolls()
    assert len(known) == 32
    chosen = dict(list(known.items())[:: 1 if ALL else 4])
    lines = (ROLLS / "instances.jsonl").read_text(encoding="utf-8").splitlines(keepends=True)
    wanted = {name.split(".")[0] for name in chosen}
    picked = tmp_path / "instances.jsonl"
    picked.write_text("".join(line for line in lines if json.loads(line)["name"] in wanted), encoding="utf-8")
    rows = runner("two-stage-roll", picked)
    wrong = []
    for name, length in chosen.items():
        value, bound, proved, seconds = rows[name]
        print(f"{name}: {value} bound {bound} {proved} in {seconds} s; known {length}")
        if value != length or bound > length:
            wrong.append(name)
    assert not wrong

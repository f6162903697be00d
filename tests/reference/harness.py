"""Runs the program as a user does, and writes small scenarios for it."""

import json
import os
from pathlib import Path
import subprocess
import tempfile

from model.lengths import INCH

HERE = Path(__file__).parent
SCENARIOS = HERE.parent.parent / "scenarios"
RELEASE = Path(os.environ.get("PATCHLAY_RELEASE", HERE.parent.parent / "target" / "release"))


def program(*arguments, timeout=300):
    """Runs the program and returns the finished process."""
    return subprocess.run(
        [RELEASE / "patchlay", *map(str, arguments)], capture_output=True, text=True, timeout=timeout, check=False)


def plan_file(path, *options):
    """Plans a scenario file and returns plan.json as data; the program must say that all went well."""
    with tempfile.TemporaryDirectory() as folder:
        done = program("plan", path, "--out", Path(folder) / "out", *options)
        assert done.returncode == 0, done.stderr + done.stdout
        return json.loads((Path(folder) / "out" / "plan.json").read_text(encoding="utf-8"))


def plan(spec, *options):
    """Plans a scenario given as data."""
    return on_file(spec, lambda path: plan_file(path, *options))


def sizes(spec):
    """What the program takes the shapes and boards of a scenario to measure."""

    def run(path):
        done = program("sizes", path, "--json")
        assert done.returncode == 0, done.stderr + done.stdout
        return json.loads(done.stdout)

    return on_file(spec, run)


def on_file(spec, use):
    """Writes a scenario to a file for as long as `use` runs."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "scenario.json"
        path.write_text(json.dumps(spec), encoding="utf-8")
        return use(path)


def fabric(name, width, **more):
    """A fabric that loses nothing to squaring or at strip ends, so that sums on paper hold exactly."""
    return {
        "name": name, "usable_width": width, "print": "none",
        "squaring": "0", "resquaring": "0", "end_reserve": "0", **more}


def single_position_board(shape, number=1, size="30", **more):
    """A board with one position."""
    return {
        "name": f"board {number}", "width": size, "length": size,
        "positions": [{"shape": shape, "at": ["1", "1"], **more}]}


def scenario(fabrics, shapes, boards, aim="least_cloth", ply_limit=6, **more):
    """A scenario without margins or fold allowances: what is cut measures what the patch measures."""
    return {
        "patchlay_scenario": 1, "name": "check", "units": "inch",
        "cutter": {
            "bed_width": "30", "longest_board": "30", "ply_limit": ply_limit,
            "mats": [{"name": "mat", "width": "30", "length": "30"}]},
        "rules": {
            "travel_rule": "strip_along_travel", "margin": "0", "least_margin": "0", "fold_allowance": "0"},
        "fabrics": fabrics, "shapes": shapes, "boards": boards,
        "spare_patches": {"number": 0}, "aim": {"put_first": aim}, **more}


def taken(plan_data, name):
    """Inches of one fabric taken."""
    return one_fabric(plan_data, name)["taken"] / INCH


def bought_yards(plan_data, name):
    """Yards of one fabric to buy."""
    return one_fabric(plan_data, name)["bought"] / INCH / 36


def one_fabric(plan_data, name):
    """The entry of one fabric."""
    return next(entry for entry in plan_data["fabrics"] if entry["fabric"] == name)

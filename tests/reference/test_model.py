"""The independent model itself, before anything is held against it.

Source: data/cloth-and-passes, solved by another program on another model (see the README there).
"""

from fractions import Fraction
import json
import os

import pytest

from harness import HERE
from model import boards
from model.job import Board, Fabric, Job
from model.lengths import INCH
from model.program import solve

ALL = os.environ.get("REFERENCE_ALL") == "1"
CASES = sorted((HERE / "data" / "cloth-and-passes").glob("cp*.json"))


def units(inches):
    """Inches of a case file in units; they are whole eighths or quarters."""
    value = Fraction(str(inches)) * INCH
    assert value.denominator == 1
    return int(value)


def job_of_case(case):
    """A case as a job: no squaring, no reserve, no ruler step, either way round."""
    width = units(case["usable_width_in"])
    fabrics = [
        Fabric(
            name=f"fabric {f}", stated_width=width, width=width, plies=case["ply_limit"], face_down=True,
            reversible=False, travel="either", price=Fraction(1), step=INCH, shrinkage=Fraction(0), squaring=0,
            resquaring=0, capacity=width, kept_back=0)
        for f in range(len(case["demand"]))]
    made = []
    for b, count in enumerate(case["board_positions"]):
        bays = [
            boards.Bay(
                tuple(bay["positions"]), units(bay["width_in"]), units(bay["length_in"]), 0.0,
                {bay["shape"]: (bay["patches_per_ply"], 0)})
            for bay in case["bays"] if bay["board"] == b]
        points = [[i for i, bay in enumerate(bays) if p in bay.positions] for p in range(count)]
        made.append(Board(f"board {b}", case["ply_limit"], bays, points, boards.kinds_of(bays)))
    demand = {
        (f"fabric {f}", int(shape), "any"): patches
        for f, shapes in enumerate(case["demand"]) for shape, patches in shapes.items() if patches}
    return Job("case", fabrics, made, demand, "weighted", units(case["pass_cost_in"]), True)


@pytest.mark.parametrize("path", CASES, ids=[path.stem for path in CASES])
def test_known_cases(path):
    case = json.loads(path.read_text(encoding="utf-8"))
    if not ALL and case["seconds"] >= 2:
        pytest.skip("long; set REFERENCE_ALL=1")
    stages, _ = solve(job_of_case(case), seconds=60)
    value, bound = (float(v) / INCH for v in (stages[0].value, stages[0].bound))
    print(f"{path.stem}: model {value} bound {bound}; known {case['best_known']}, at least {case['lower_bound']}")
    assert value >= case["lower_bound"] - 1e-6
    assert bound <= case["best_known"] + 1e-6
    if stages[0].proved and case["proved"]:
        assert value == case["best_known"]

"""The independent model itself, before anything is held against it.

Source: data/cloth-and-passes, solved by another program on another model (see the README there).
"""

import json
import os

import pytest

from harness import HERE
from model.cases import job_of_case
from model.lengths import INCH
from model.program import solve

ALL = os.environ.get("REFERENCE_ALL") == "1"
CASES = sorted((HERE / "data" / "cloth-and-passes").glob("cp*.json"))


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

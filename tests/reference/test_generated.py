"""Generated scenarios: what the program says cannot be met has no solution in the independent model either.

The scenarios are those of `tests/tests/generated.rs`, which plans all others and has every plan checked, so these have
a solution. Any amount of cloth may be bought and any number of passes made, so the integer program of the model has a
solution exactly if every demand has a ply that yields it. Areas may lie as near to each other as they like here and
overlap when turned, which only lets in more: what has no solution even so has none.
"""

import json
from math import floor, sqrt
import os
from pathlib import Path
import subprocess
import tempfile
from unittest.mock import patch

from model.boxes import position_box
from model.job import job_of
from model.plies import plies_of

ROOT = Path(__file__).parent.parent.parent


def written(folder):
    """The generated scenarios that the program calls impossible."""
    subprocess.run(
        ["cargo", "test", "--quiet", "--release", "--locked", "--package", "patchlay-tests", "--test", "generated",
         "--", "--ignored", "write_generated_scenarios"],
        cwd=ROOT, env={**os.environ, "PATCHLAY_GENERATED": str(folder)}, check=True, capture_output=True)
    assert len(list(Path(folder).glob("*.json"))) == 200
    return sorted(Path(folder).glob("*.impossible.json"))


def small_box(shape, *rest):
    """The box of a position; where the model knows none, one that no patch of the shape is smaller than, seams left
    out: the least distance between two parallel lines that hold the finished patch, at most."""
    try:
        return position_box(shape, *rest)
    except NotImplementedError:
        sizes = [shape[name] for name in ("side", "width", "height") if name in shape]
        least = floor(min(sizes) / sqrt(2))
        return least, least


def has_solution(path):
    """Whether the model of a scenario has any solution."""
    spec = json.loads(path.read_text(encoding="utf-8"))
    spec["rules"]["least_margin"] = "0"
    with (patch("model.boards.check_turned_fields", lambda _: None),
          patch("model.boards.position_box", small_box)):
        job = job_of(spec)
    yielded = {key for fabric in job.fabrics for ply in plies_of(job, fabric) for key, _ in ply.yields}
    return set(job.demand) <= yielded


def test_what_is_impossible_has_no_solution():
    with tempfile.TemporaryDirectory() as folder:
        found = {path.name: has_solution(path) for path in written(folder)}
    print(f"{len(found)} of 200 generated scenarios are impossible")
    assert len(found) >= 10 and not any(found.values()), found

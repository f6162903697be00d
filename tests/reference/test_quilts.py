"""Whole quilts: yardage, pieces per block, and the star that can be checked by hand."""

import copy
import json

import pytest

from harness import SCENARIOS, bought_yards, fabric, one_fabric, plan, plan_file, program, on_file, scenario, \
    single_position_board, taken
from model.job import job_of
from model.program import solve

SHAPES = {
    "square 4": {"kind": "square", "side": "4"},
    "quarter 4": {"kind": "quarter_square_triangle", "width": "4"},
    "half 2": {"kind": "half_square_triangle", "side": "2"},
    "square 2": {"kind": "square", "side": "2"},
    "square 3": {"kind": "square", "side": "3"},
}
LAID = {"quarter 4": (4, "four"), "half 2": (2, "pair")}

# Source: counting strips across the width, every size in strips of its own, up to 1/8 yd, no spare patches.
# quilt and cloth, usable width, {shape: patches}, inches of strips, yards to buy
YARDAGE = [
    ("Ohio Star 12 x 20, background", "40", {"square 4": 80, "quarter 4": 160}, 76.5, 2.125),
    ("Ohio Star 12 x 20, star", "40", {"square 4": 20, "quarter 4": 160}, 45, 1.25),
    ("Ohio Star 12 x 20, background", "42", {"square 4": 80, "quarter 4": 160}, 66.75, 1.875),
    ("Ohio Star 12 x 20, star", "42", {"square 4": 20, "quarter 4": 160}, 39.75, 1.125),
    ("Sawtooth Star 8 x 30, star", "40", {"square 4": 30, "half 2": 240}, 46.75, 1.375),
    ("Sawtooth Star 8 x 30, background", "40", {"quarter 4": 120, "square 2": 120}, 46.25, 1.375),
    ("Sawtooth Star 8 x 30, star", "42", {"square 4": 30, "half 2": 240}, 43.875, 1.25),
    ("Sawtooth Star 8 x 30, background", "42", {"quarter 4": 120, "square 2": 120}, 41, 1.25),
    ("Nine Patch 9 x 30, five", "40", {"square 3": 150}, 49, 1.375),
    ("Nine Patch 9 x 30, four", "40", {"square 3": 120}, 38.5, 1.125),
    ("Nine Patch 9 x 30, five", "42", {"square 3": 150}, 45.5, 1.375),
    ("Nine Patch 9 x 30, four", "42", {"square 3": 120}, 35, 1.0),
]
NAMES = [f"{row[0]}, {row[1]} in" for row in YARDAGE]


def yardage(width, patches, apart):
    """One cloth; `apart`: a cloth for every shape, so that no strip mixes sizes."""
    names = {shape: shape if apart else "cloth" for shape in patches}
    boards = []
    for number, shape in enumerate(patches, 1):
        count, arrangement = LAID.get(shape, (1, "single"))
        boards.append(single_position_board(shape, number, as_drawn=count, arrangement=arrangement))
    return scenario(
        [fabric(name, width) for name in dict.fromkeys(names.values())],
        [{"name": shape, **SHAPES[shape]} for shape in patches], boards,
        loose_patches=[{"shape": shape, "fabric": names[shape], "count": count} for shape, count in patches.items()])


@pytest.mark.parametrize("what,width,patches,inches,yards", YARDAGE, ids=NAMES)
def test_every_size_in_its_own_strips(what, width, patches, inches, yards):
    made = plan(yardage(width, patches, apart=True))
    assert sum(taken(made, shape) for shape in patches) == inches


@pytest.mark.parametrize("what,width,patches,inches,yards", YARDAGE, ids=NAMES)
def test_strips_that_mix_sizes(what, width, patches, inches, yards):
    """Strips may mix sizes, so the tabulated length is an upper limit; the least is the independent model's."""
    spec = yardage(width, patches, apart=False)
    made = plan(spec)
    job = job_of(spec)
    stages, _ = solve(job)
    area = next(stage for stage in stages if stage.figure == "area")
    assert area.proved
    least = float(area.value / job.fabrics[0].width) / 8128
    print(f"{what}, {width} in: {taken(made, 'cloth')} in taken, table {inches} in, independent model {least} in")
    assert taken(made, "cloth") == least <= inches
    assert bought_yards(made, "cloth") <= yards
    if least == inches:
        assert bought_yards(made, "cloth") == yards


# Source: pieces per block by construction; the finished areas of the pieces fill the block.
# block, finished side, {(shape): count}, pieces in all
G = {
    "square g": {"kind": "square", "side": "3"},
    "square 2g": {"kind": "square", "side": "6"},
    "half g": {"kind": "half_square_triangle", "side": "3"},
    "quarter g": {"kind": "quarter_square_triangle", "width": "3"},
    "bar g/2": {"kind": "rectangle", "width": "1 1/2", "height": "3"},
    "bar 3g": {"kind": "rectangle", "width": "3", "height": "9"},
    "square g/2": {"kind": "square", "side": "1 1/2"},
    "goose": {"kind": "goose", "width": "6"},
    "convex": {"kind": "convex_quarter", "radius": "2"},
    "concave": {"kind": "concave_quarter", "side": "3", "radius": "2"},
}
BLOCKS = [
    ("Four Patch", "6", {"square g": 4}, 4),
    ("Nine Patch", "9", {"square g": 9}, 9),
    ("Pinwheel", "6", {"half g": 8}, 8),
    ("Hourglass", "3", {"quarter g": 4}, 4),
    ("Shoo Fly", "9", {"square g": 5, "half g": 8}, 13),
    ("Friendship Star", "9", {"square g": 5, "half g": 8}, 13),
    ("Ohio Star", "9", {"square g": 5, "quarter g": 16}, 21),
    ("Churn Dash", "9", {"square g": 1, "half g": 8, "bar g/2": 8}, 17),
    ("Sawtooth Star", "12", {"square 2g": 1, "goose": 4, "half g": 8, "square g": 4}, 17),
    ("Jacob's Ladder", "9", {"square g/2": 20, "half g": 8}, 28),
    ("Bear's Paw", "21", {"square 2g": 4, "half g": 32, "square g": 5, "bar 3g": 4}, 45),
    ("Drunkard's Path", "12", {"convex": 16, "concave": 16}, 32),
]


def block_scenario(side, pieces):
    """One block, with a board for every shape."""
    return scenario(
        [fabric("cloth", "42")], [{"name": name, **G[name]} for name in pieces],
        [single_position_board(name, number) for number, name in enumerate(pieces, 1)],
        blocks=[{
            "name": "block", "finished": side,
            "patches": [{"shape": name, "role": "all", "count": count} for name, count in pieces.items()]}],
        quilts=[{"name": "quilt", "blocks": [{"block": "block", "count": 1, "fabrics": {"all": "cloth"}}]}])


@pytest.mark.parametrize("block,side,pieces,in_all", BLOCKS, ids=[row[0] for row in BLOCKS])
def test_pieces_fill_the_block(block, side, pieces, in_all):
    assert sum(pieces.values()) == in_all
    spec = block_scenario(side, pieces)
    made = plan(spec)
    assert sum(line["needed"] for line in made["patches"]) == in_all
    short = copy.deepcopy(spec)
    short["blocks"][0]["patches"][0]["count"] += 1
    said = on_file(short, lambda path: program("sizes", path, "--json"))
    assert said.returncode == 2, f"{block}: one patch too many was not noticed"


def test_thirty_stars_take_twenty_five_passes():
    """Source: worked by hand: 30 stars x 5 squares = 150 plies at one position, six plies a stack (common practice, no
    source) -> 25 passes; 30 x 16 triangles, four from a ply, are 120 plies and ride along."""
    made = plan_file(SCENARIOS / "star-hand-check.json")
    passes = next(bound for bound in made["bounds"] if bound["figure"] == "passes")
    assert (passes["value"], passes["bound"], passes["proved"]) == ("25", "25", True)


def test_one_star_is_one_pass_of_five_and_four_plies():
    """Source: worked by hand: 5 plies of squares (4 + 1) and 4 plies of triangles (1 + 2 + 1) make one block in one
    pass; two positions, six plies a stack."""
    spec = json.loads((SCENARIOS / "star-hand-check.json").read_text(encoding="utf-8"))
    spec["quilts"][0]["blocks"][0]["count"] = 1
    made = plan(spec)
    assert made["figures"]["passes"] == 1
    bays = made["layups"][0]["bays"]
    plies = {tuple(bay["positions"]): sum(group["plies"] for group in bay["groups"]) for bay in bays}
    assert plies == {(0,): 5, (1,): 4}


def test_strip_carries_what_the_sum_on_paper_says():
    """Source: counting: 5 1/4 in runs from 42 in are eight, exactly; seven from 40 in."""
    for width, plies in (("42", 8), ("40", 7)):
        made = plan(yardage(width, {"quarter 4": 4 * plies}, apart=False))
        assert len(one_fabric(made, "cloth")["strips"]) == 1
        made = plan(yardage(width, {"quarter 4": 4 * plies + 4}, apart=False))
        assert len(one_fabric(made, "cloth")["strips"]) == 2

"""A made-up scenario of 100 quilts, 60 fabrics, 12 shapes, 15 boards and 4 cutters, to measure how long a large day
takes to plan: `large_group.py FILE [SEED]`, then `patchlay plan FILE`. Hall and helpers are those of the demo of a hundred
quilts; blocks come in six sizes. Not run by any test."""

from fractions import Fraction
import json
from pathlib import Path
import random
import sys

SCENARIOS = Path(__file__).resolve().parents[2] / "scenarios"
SIDES = [Fraction(n, 2) for n in (4, 5, 6, 7, 8, 9)]
BLOCKS_OF = dict(zip(SIDES, (42, 30, 20, 16, 12, 9)))
GIFTS = (7, 23, 41)


def text(length):
    whole, part = divmod(length, 1)
    return " ".join(str(one) for one in (whole, part) if one) or "0"


def board(name, length, positions):
    for position in positions:
        if position.get("rows", 1) < 2:
            position.pop("gap_along", None)
        if position.get("columns", 1) < 2:
            position.pop("gap_across", None)
    return {"name": name, "width": "14", "length": length, "positions": positions}


def boards():
    for side in SIDES:
        name, square, triangle = text(side), side + Fraction(1, 2), side + Fraction(7, 8)
        yield board(f"squares {name}", "10", [{
            "shape": f"square {name}", "at": ["1", "1"], "gap_across": "1/2", "gap_along": "1/2",
            "columns": int(Fraction(25, 2) / (square + Fraction(1, 2))),
            "rows": int(Fraction(17, 2) / (square + Fraction(1, 2)))}])
        yield board(f"triangles {name}", "10 1/2", [{
            "shape": f"triangle {name}", "at": ["1/2", "1"], "as_drawn": 2, "arrangement": "pair",
            "gap_across": "5/8", "gap_along": "5/8", "columns": int(13 / (triangle + 1)),
            "rows": max(1, int(Fraction(19, 2) / (triangle + Fraction(5, 8))))}])
    for side in SIDES[:3]:
        name = text(side)
        yield board(f"star {name}", "10 1/2", [
            {"shape": f"square {name}", "at": ["1", "1"], "rows": 2, "gap_along": "1"},
            {"shape": f"triangle {name}", "at": [text(side + Fraction(9, 4)), "1"], "as_drawn": 2,
             "arrangement": "pair", "rows": 2, "gap_along": "5/8"}])


def made(seed):
    demo = json.loads((SCENARIOS / "hundred-childrens-quilts.json").read_text(encoding="utf-8"))
    luck = random.Random(seed)
    names = [f"Fabric {n + 1}" for n in range(60)]
    fabrics = [{"name": name, "usable_width": str(40 + n % 5), "print": "none"} for n, name in enumerate(names)]
    for n, fabric in enumerate(fabrics):
        if n not in GIFTS:
            fabric["price"] = f"{7 + n % 6}.{n * 7 % 10}0"
    blocks, quilts = [], []
    for side in SIDES:
        for block in demo["blocks"]:
            patches = [patch | {"shape": patch["shape"].replace(" 3", f" {text(side)}")} for patch in block["patches"]]
            finished = text(3 * side)
            blocks.append({"name": f"{block['name']} {finished}", "finished": finished, "patches": patches})
    # Every fabric comes at least once: they are dealt out before any is drawn again.
    dealt = names * 2
    luck.shuffle(dealt)
    for n in range(25):
        side, lines = SIDES[n % 6], []
        half = BLOCKS_OF[side] // 2
        for at, count in ((n // 6, BLOCKS_OF[side] - half), (n + 1, half)):
            block = demo["blocks"][at % 3]
            roles = {}
            for role in sorted({patch["role"] for patch in block["patches"]}):
                fresh = [name for name in dealt or names if name not in roles.values()]
                roles[role] = fresh[0] if dealt else luck.choice(fresh)
                if dealt:
                    dealt.remove(roles[role])
            lines.append({"block": f"{block['name']} {text(3 * side)}", "count": count, "fabrics": roles})
        quilts.append({"name": f"design {n + 1}", "copies": 4, "for": demo["quilts"][n]["for"], "blocks": lines})
    shapes = [{"name": f"{name} {text(side)}", "kind": kind, "side": text(side)}
              for side in SIDES for name, kind in (("square", "square"), ("triangle", "half_square_triangle"))]
    all_boards = list(boards())
    group = demo["group"] | {
        "copies": [{"board": one["name"], "copies": 2} for one in all_boards],
        "brought": [{"fabric": names[n], "by": "Ada"} for n in GIFTS]}
    return demo | {"name": "A large hall", "about": "Made up for measurement.", "fabrics": fabrics, "shapes": shapes,
                   "boards": all_boards, "blocks": blocks, "quilts": quilts, "group": group}


if __name__ == "__main__":
    scenario = made(int(sys.argv[2]) if len(sys.argv) > 2 else 1)
    Path(sys.argv[1]).write_text(json.dumps(scenario, indent=1) + "\n", encoding="utf-8")

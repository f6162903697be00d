"""A scenario file read into what the integer program needs."""

from dataclasses import dataclass
from fractions import Fraction
from math import ceil
import json

from . import boards
from .boxes import handed
from .lengths import INCH, length


@dataclass
class Fabric:
    """One cloth. Lengths in units; `price` in 1/10,000 of the currency for a yard or metre of `price_length`."""

    name: str
    stated_width: int
    width: int
    plies: int
    face_down: bool
    reversible: bool
    travel: str
    price: Fraction
    step: int
    shrinkage: Fraction
    squaring: int
    resquaring: int
    capacity: int
    kept_back: int

    def money_of_step(self):
        """What one selling step costs, in a unit common to all fabrics."""
        return self.price * self.step

    def money(self, taken):
        """What the length to buy for a length taken costs, shrinkage and selling step included."""
        return self.money_of_step() * ceil(Fraction(taken) / (1 - self.shrinkage) / self.step)

    def area(self, taken):
        """Area taken."""
        return Fraction(self.width * taken)


@dataclass
class Board:
    """A board and what follows from its geometry; `kinds` lists like bays together."""

    name: str
    plies: int
    bays: list
    points: list
    kinds: list


@dataclass
class Job:
    """The whole job. `demand` maps (fabric, shape, hand) to patches; hand is `any`, `drawn` or `mirrored`."""

    name: str
    fabrics: list
    boards: list
    demand: dict
    aim: str
    pass_length: int
    priced: bool


class Reader:
    """Reads lengths of one scenario and knows its defaults."""

    def __init__(self, spec):
        self.spec = spec
        self.metric = spec["units"] == "metric"

    def __call__(self, text):
        return length(text, self.spec["units"])

    def rule(self, name, default):
        """A rule of the job, or its default."""
        return self(self.spec["rules"].get(name, default))


def load(path):
    """Reads a scenario file."""
    with open(path, encoding="utf-8") as file:
        return job_of(json.load(file))


def job_of(spec):
    """Reads a scenario."""
    read = Reader(spec)
    rules = {
        "margin": read.rule("margin", "1/4 in"),
        "least_margin": read.rule("least_margin", "1/8 in"),
        "ruler_step": read.rule("ruler_step", "1 mm" if read.metric else "1/8 in"),
    }
    shapes = {shape["name"]: shape_of(shape, read) for shape in spec["shapes"]}
    limit = spec["cutter"]["ply_limit"]
    fabrics = [fabric_of(fabric, spec, read, limit) for fabric in spec["fabrics"]]
    made = [board_of(board, shapes, rules, read, limit) for board in spec["boards"]]
    aim = spec["aim"]
    return Job(
        spec["name"], fabrics, made, demand_of(spec, shapes, fabrics), aim["put_first"],
        read(aim.get("pass_is_worth", "0")), any("price" in fabric for fabric in spec["fabrics"]))


def shape_of(shape, read):
    """A shape with its sizes in units."""
    sizes = {name: read(shape[name]) for name in ("side", "width", "height") if name in shape}
    seam = read(shape["seam"]) if "seam" in shape else read.rule("seam", "1/4 in")
    return {"name": shape["name"], "kind": shape["kind"], "seam": seam, **sizes}


def fabric_of(fabric, spec, read, limit):
    """A fabric, defaults filled in."""
    stated = read(fabric["usable_width"])
    shrinkage = Fraction(str(fabric.get("shrinkage_percent", 0))) / 100
    washed = fabric.get("width_measured", "after_washing") == "before_washing"
    width = int(stated * (1 - shrinkage)) if washed else stated
    per = read("1 m") if read.metric else read("1 yd")
    return Fabric(
        name=fabric["name"], stated_width=stated, width=width,
        plies=min(limit, fabric.get("ply_limit", limit)),
        face_down=fabric["print"] != "one_way" or fabric.get("allow_turned", False),
        reversible=fabric.get("reversible", False),
        travel=fabric.get("travel_rule", spec["rules"]["travel_rule"]),
        price=Fraction(str(fabric["price"])) * 10000 / per if "price" in fabric else Fraction(stated),
        step=read(fabric.get("selling_step", "10 cm" if read.metric else "1/8 yd")),
        shrinkage=shrinkage,
        squaring=read(fabric.get("squaring", "1 in")),
        resquaring=read(fabric.get("resquaring", "1/4 in")),
        capacity=width - read(fabric.get("end_reserve", "1/2 in")),
        kept_back=sum(read(kept["length"]) for kept in fabric.get("kept_back", [])))


def board_of(board, shapes, rules, read, limit):
    """A board with its bays and points."""
    positions = boards.positions_of(board, shapes, read)
    bays = boards.bays_of(positions, rules)
    return Board(
        board["name"], min(limit, board.get("ply_limit", limit)), bays, boards.points_of(positions, bays),
        boards.kinds_of(bays))


def demand_of(spec, shapes, fabrics):
    """Patches wanted, spare patches included."""
    blocks = {block["name"]: block for block in spec.get("blocks", [])}
    reversible = {fabric.name: fabric.reversible for fabric in fabrics}
    wanted = {}

    def add(shape, fabric, count, mirrored):
        hand = "any"
        if handed(shapes[shape]) and not reversible[fabric]:
            hand = "mirrored" if mirrored else "drawn"
        wanted[fabric, shape, hand] = wanted.get((fabric, shape, hand), 0) + count

    for quilt in spec.get("quilts", []):
        for use in quilt["blocks"]:
            for line in blocks[use["block"]]["patches"]:
                count = quilt.get("copies", 1) * use["count"] * line["count"]
                add(line["shape"], use["fabrics"][line["role"]], count, line.get("mirrored", False))
    for line in spec.get("loose_patches", []):
        add(line["shape"], line["fabric"], line["count"], line.get("mirrored", False))
    return {key: count + spare(spec, count) for key, count in wanted.items() if count}


def spare(spec, needed):
    """Spare patches of one demand line; a percentage rounds up."""
    spares = spec["spare_patches"]
    if "number" in spares:
        return spares["number"]
    return ceil(Fraction(str(spares["percent"])) * needed / 100)


__all__ = ["INCH", "Board", "Fabric", "Job", "job_of", "load"]

"""Case files of cloth and passes (see data/cloth-and-passes) as jobs of the model."""

from fractions import Fraction

from . import boards
from .job import Board, Fabric, Job
from .lengths import INCH


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

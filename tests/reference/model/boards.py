"""Boards: positions, the areas that one rectangle of fabric covers (bays), margins and sizes of one ply."""

from dataclasses import dataclass, field
from itertools import combinations
from math import cos, floor, radians, sin

from .boxes import position_box
from .lengths import up

# Rectangles turned against each other are compared in floats; this many units is a thousandth of an inch.
SLACK = 8


@dataclass
class Position:
    """One place on a board. `low` and `high` are its corners on its own axes, which go through the
    board's corner."""

    shape: str
    drawn: int
    mirrored: int
    turn: float
    low: tuple
    high: tuple


@dataclass
class Bay:
    """An area of a board: the positions it covers, cloth of one ply, and what one ply lying face up yields."""

    positions: tuple
    across: int
    along: int
    turn: float
    yields: dict
    cloth: tuple = field(repr=False, default=())


def turned(point, degrees):
    """A point of the board on axes turned by so many degrees; exact at 0."""
    if degrees == 0:
        return point
    angle = radians(degrees)
    return (point[0] * cos(angle) + point[1] * sin(angle), point[1] * cos(angle) - point[0] * sin(angle))


def positions_of(board, shapes, read):
    """All positions, grids row by row, each row from the handle side."""
    found = []
    for spec in board["positions"]:
        shape = shapes[spec["shape"]]
        mirrored = spec.get("mirrored", 0)
        drawn = spec.get("as_drawn", 0 if "mirrored" in spec else 1)
        across, along = position_box(
            shape, spec.get("arrangement", "single"), drawn + mirrored,
            read(spec.get("patch_gap", "0")), spec.get("shape_turn", 0))
        if "blade_box" in spec:
            across, along = (read(size) for size in spec["blade_box"])
        found.extend(grid_of(spec, (across, along), [drawn, mirrored], read))
    return found


def grid_of(spec, box, patches, read):
    """The positions of one grid, turned about the grid's centre."""
    columns, rows, turn = spec.get("columns", 1), spec.get("rows", 1), float(spec.get("turn", 0))
    gaps = read(spec.get("gap_across", "0")), read(spec.get("gap_along", "0"))
    at = [read(value) for value in spec["at"]]
    half = [(count * side + (count - 1) * gap) / 2 for count, side, gap in zip((columns, rows), box, gaps)]
    centre = turned([at[0] + half[0], at[1] + half[1]], turn)
    corner = [centre[0] - half[0], centre[1] - half[1]]
    if turn == 0:
        corner = at
    grid = []
    for row in range(rows):
        for column in range(columns):
            low = (corner[0] + column * (box[0] + gaps[0]), corner[1] + row * (box[1] + gaps[1]))
            grid.append(Position(spec["shape"], *patches, turn, low, (low[0] + box[0], low[1] + box[1])))
    return grid


def seen_on(position, turn):
    """(low, high) of a position's box on axes of another turn."""
    if position.turn == turn:
        return position.low, position.high
    corners = [
        turned(turned((u, v), -position.turn), turn)
        for u in (position.low[0], position.high[0]) for v in (position.low[1], position.high[1])]
    return (tuple(min(c[i] for c in corners) for i in (0, 1)), tuple(max(c[i] for c in corners) for i in (0, 1)))


def meets(a_low, a_high, b_low, b_high, axis):
    """Whether two boxes' projections on an axis meet."""
    return a_low[axis] <= b_high[axis] and b_low[axis] <= a_high[axis]


def hull(positions):
    """The smallest box round positions of one turn."""
    low = tuple(min(p.low[i] for p in positions) for i in (0, 1))
    high = tuple(max(p.high[i] for p in positions) for i in (0, 1))
    return low, high


def lines(members, axis):
    """Numbers the lines of members along an axis: members whose projections meet are in one line."""
    number, reach, found = -1, None, {}
    for index in sorted(range(len(members)), key=lambda i: members[i].low[axis]):
        if reach is None or members[index].low[axis] > reach:
            number += 1
            reach = members[index].high[axis]
        reach = max(reach, members[index].high[axis])
        found[index] = number
    return found, number + 1


def is_grid(members):
    """A run of neighbours or a full rectangle of them: one member in every row of every column."""
    rows, row_count = lines(members, 1)
    columns, column_count = lines(members, 0)
    cells = {(rows[i], columns[i]) for i in range(len(members))}
    return len(cells) == len(members) == row_count * column_count


def is_bay(positions, chosen):
    """One rectangle covers the chosen positions and touches no other."""
    members = [positions[i] for i in chosen]
    turn = members[0].turn
    if any(p.turn != turn for p in members):
        return False
    if not is_grid(members):
        return False
    low, high = hull(members)
    for index, other in enumerate(positions):
        if index in chosen:
            continue
        o_low, o_high = seen_on(other, turn)
        if all(meets(low, high, o_low, o_high, axis) for axis in (0, 1)):
            return False
    return True


def margins(positions, chosen, low, high, set_margin):
    """Margin of each side, in the order low u, high u, low v, high v."""
    turn = positions[chosen[0]].turn
    found = [set_margin] * 4
    for index, other in enumerate(positions):
        if index in chosen:
            continue
        o_low, o_high = seen_on(other, turn)
        for axis in (0, 1):
            if not meets(low, high, o_low, o_high, 1 - axis):
                continue
            gap, side = (low[axis] - o_high[axis], 0) if o_high[axis] <= low[axis] else (o_low[axis] - high[axis], 1)
            found[2 * axis + side] = min(found[2 * axis + side], floor(gap / 2))
    return found


def bays_of(positions, rules):
    """All bays of a board."""
    found = []
    for size in range(1, len(positions) + 1):
        for chosen in combinations(range(len(positions)), size):
            if is_bay(positions, chosen):
                found.append(bay_of(positions, chosen, rules))
    return found


def bay_of(positions, chosen, rules):
    """The bay over the chosen positions."""
    members = [positions[i] for i in chosen]
    low, high = hull(members)
    sides = margins(positions, chosen, low, high, rules["margin"])
    if min(sides) < rules["least_margin"]:
        raise NotImplementedError("areas nearer to each other than the least margin allows")
    cloth_low, cloth_high = (low[0] - sides[0], low[1] - sides[2]), (high[0] + sides[1], high[1] + sides[3])
    yields = {}
    for p in members:
        drawn, mirrored = yields.get(p.shape, (0, 0))
        yields[p.shape] = (drawn + p.drawn, mirrored + p.mirrored)
    sizes = [up(round(cloth_high[axis] - cloth_low[axis]), rules["ruler_step"]) for axis in (0, 1)]
    return Bay(chosen, sizes[0], sizes[1], members[0].turn, yields, (cloth_low, cloth_high))


def kinds_of(bays):
    """The bays of a board, like ones together: same cloth for a ply, same turn, same patches."""
    kinds = {}
    for i, bay in enumerate(bays):
        look = (bay.across, bay.along, bay.turn, tuple(sorted(bay.yields.items())))
        kinds.setdefault(look, []).append(i)
    return list(kinds.values())


def points_of(positions, bays):
    """Sets of bays whose plies lie on each other somewhere: at each such point the plies must fit the limit."""
    points = {frozenset(i for i, bay in enumerate(bays) if p in bay.positions) for p in range(len(positions))}
    for turn in {bay.turn for bay in bays}:
        mine = [(i, bay.cloth) for i, bay in enumerate(bays) if bay.turn == turn]
        for u in {low[0] for _, (low, _) in mine}:
            for v in {low[1] for _, (low, _) in mine}:
                points.add(frozenset(
                    i for i, (low, high) in mine if low[0] <= u < high[0] and low[1] <= v < high[1]))
    check_turned_fields(bays)
    points.discard(frozenset())
    return [sorted(p) for p in points if not any(p < q for q in points)]


def check_turned_fields(bays):
    """Cloth of areas turned against each other must lie well apart; overlaps there are not modelled."""
    for a, b in combinations(bays, 2):
        if a.turn == b.turn:
            continue
        if not (apart(a, b) or apart(b, a)):
            raise NotImplementedError("overlapping areas of different turn")


def apart(a, b):
    """Whether an edge of a's cloth separates it from b's."""
    p = Position("", 0, 0, b.turn, *b.cloth)
    low, high = seen_on(p, a.turn)
    return any(
        high[i] < a.cloth[0][i] + SLACK or low[i] > a.cloth[1][i] - SLACK for i in (0, 1))


def one_line(bays):
    """Whether all bays are runs of one line of positions, so that the largest load alone decides the passes."""
    used = sorted({p for bay in bays for p in bay.positions})
    place = {p: i for i, p in enumerate(used)}
    return all(
        [place[p] for p in bay.positions] == list(range(place[bay.positions[0]], place[bay.positions[-1]] + 1))
        for bay in bays)

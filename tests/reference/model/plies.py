"""What one ply can be: its area of a board, fabric, face and way round, and the patches it yields."""

from dataclasses import dataclass
from math import cos, radians, sin



@dataclass(frozen=True)
class Ply:
    """A kind of ply of one fabric. `kind` numbers like bays of the board; `yields` holds (demand key, patches)."""

    board: int
    kind: int
    run: int
    width: int
    yields: tuple


def ways(bay, rule):
    """(run, width) for every way round that the travel rule allows; the side nearer the travel counts."""
    off_travel, off_across = abs(sin(radians(bay.turn))), abs(cos(radians(bay.turn)))
    along = off_travel <= off_across + 1e-9
    across = off_across <= off_travel + 1e-9
    if rule == "strip_across_travel":
        along, across = across, along
    if rule == "either":
        along = across = True
    found = set()
    if along:
        found.add((bay.along, bay.across))
    if across:
        found.add((bay.across, bay.along))
    return sorted(found)


def patches(bay, fabric, demand, face_up):
    """Patches of one ply that the fabric's demand can use, by demand key."""
    found = {}
    for shape, (drawn, mirrored) in bay.yields.items():
        if not face_up:
            drawn, mirrored = mirrored, drawn
        counts = {"any": drawn + mirrored, "drawn": drawn, "mirrored": mirrored}
        for hand, count in counts.items():
            if count and (fabric.name, shape, hand) in demand:
                found[fabric.name, shape, hand] = count
    return tuple(sorted(found.items()))


def plies_of(job, fabric):
    """All kinds of plies that are of use to a fabric; a ply that no strip can hold is none."""
    found = []
    for b, board in enumerate(job.boards):
        for kind, members in enumerate(board.kinds):
            bay = board.bays[members[0]]
            faces = {patches(bay, fabric, job.demand, True)}
            if fabric.face_down:
                faces.add(patches(bay, fabric, job.demand, False))
            for yields in sorted(faces - {()}):
                for run, width in ways(bay, fabric.travel):
                    if run <= fabric.capacity:
                        found.append(Ply(b, kind, run, width, yields))
    return without_dominated(job, found)


def without_dominated(job, plies):
    """Drops a ply where another yields as much from no more cloth, whichever of its bays it lies in."""

    def inside(a, b):
        board = job.boards[a.board]
        areas = [[set(board.bays[i].positions) for i in board.kinds[ply.kind]] for ply in (a, b)]
        return all(any(small < large for small in areas[0]) for large in areas[1])

    def better(a, b):
        return (a.board == b.board and a.yields == b.yields and a.run <= b.run and a.width <= b.width
                and inside(a, b))

    return [ply for ply in plies if not any(better(other, ply) for other in plies)]


def maximal_fillings(runs, capacity):
    """Every way to fill a strip with runs so that no further run fits: {run: how many}."""
    runs = sorted(runs, reverse=True)
    if not runs:
        return []
    found = []

    def fill(index, left, chosen):
        if index == len(runs) - 1:
            found.append({**chosen, runs[index]: left // runs[index]})
            return
        for count in range(left // runs[index], -1, -1):
            fill(index + 1, left - count * runs[index], {**chosen, runs[index]: count})

    fill(0, capacity, {})
    return [{run: count for run, count in filling.items() if count} for filling in found]

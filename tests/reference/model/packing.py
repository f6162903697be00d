"""Whether plies can be dealt into so many passes: the passes' load alone does not always say.

Each pass takes whole plies; at every point of the board the plies of a pass, each counting 1/limit, add up to at most
one. Solved with OR-Tools CP-SAT.
"""

from math import lcm

from ortools.sat.python import cp_model


def fits(board, loads, passes, seconds=20.0, threads=1):
    """True or False where proved, None where time ran out. `loads`: {(bay, limit): plies}."""
    common = lcm(*(limit for _, limit in loads), 1)
    model = cp_model.CpModel()
    dealt = {
        key: [model.new_int_var(0, min(plies, key[1]), f"{key} {p}") for p in range(passes)]
        for key, plies in loads.items() if plies}
    for key, counts in dealt.items():
        model.add(sum(counts) == loads[key])
    for point in board.points:
        here = [key for key in dealt if key[0] in point]
        for p in range(passes):
            model.add(sum(common // limit * dealt[bay, limit][p] for bay, limit in here) <= common)
    # Passes are alike: the first kind of ply may come in falling numbers.
    for counts in list(dealt.values())[:1]:
        for more, fewer in zip(counts, counts[1:]):
            model.add(more >= fewer)
    solver = cp_model.CpSolver()
    solver.parameters.max_time_in_seconds = seconds
    solver.parameters.num_workers = threads
    answer = solver.solve(model)
    if answer in (cp_model.OPTIMAL, cp_model.FEASIBLE):
        return True
    return False if answer == cp_model.INFEASIBLE else None


def exact_by_structure(board, loads):
    """One line of runs and one limit: the largest load decides the passes."""
    from .boards import one_line

    used = [board.bays[bay] for (bay, _), plies in loads.items() if plies]
    return len({limit for _, limit in loads}) <= 1 and one_line(used)


def attainable(job, program):
    """Whether the last solution's passes are enough for its plies: True, False or None (not settled)."""
    answers = []
    for b, passes in enumerate(program.passes_found()):
        board, loads = job.boards[b], program.loads_found(b)
        loads = {key: plies for key, plies in loads.items() if plies}
        answers.append(not loads or exact_by_structure(board, loads) or fits(board, loads, passes))
    if all(answers):
        return True
    return False if False in answers else None

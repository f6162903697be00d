"""The integer program of `program`, handed as it stands to OR-Tools CP-SAT: the same variables and rows."""

from math import inf

import highspy
from ortools.sat.python import cp_model


def whole(value, at_infinity):
    """A bound or coefficient as an integer; infinite bounds become the given one."""
    if abs(value) == inf or abs(value) >= highspy.kHighsInf:
        return at_infinity if value > 0 else -at_infinity
    assert value == round(value)
    return round(value)


def program_of(solver, most):
    """The program that HiGHS holds, as a CP-SAT model; every variable goes from 0 to at most `most`."""
    lp, model = solver.getLp(), cp_model.CpModel()
    variables = [
        model.new_int_var(whole(low, 0), min(whole(high, most), most), "")
        for low, high in zip(lp.col_lower_, lp.col_upper_)]
    rows = [[] for _ in lp.row_lower_]
    matrix = lp.a_matrix_
    by_row = matrix.format_ != highspy.MatrixFormat.kColwise
    starts, index, value = list(matrix.start_), list(matrix.index_), list(matrix.value_)
    for line in range(len(starts) - 1):
        for at in range(starts[line], starts[line + 1]):
            row, column = (line, index[at]) if by_row else (index[at], line)
            rows[row].append((variables[column], whole(value[at], 0)))
    far = 1 << 40
    for terms, low, high in zip(rows, lp.row_lower_, lp.row_upper_):
        total = sum(factor * variable for variable, factor in terms)
        model.add_linear_constraint(total, whole(low, far), whole(high, far))
    return model, variables


def solve(program, figure, most, seconds):
    """Minimises a figure in one thread within so many seconds: (value or None, bound), as the model prints them."""
    expression, constant, worth = program.figure(figure)
    model, variables = program_of(program.solver, most)
    factors = {}
    for index, factor in zip(expression.idxs, expression.vals):
        factors[index] = factors.get(index, 0) + whole(factor, 0)
    model.minimize(sum(factor * variables[index] for index, factor in factors.items()))
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    solver.parameters.max_time_in_seconds = seconds
    status = solver.solve(model)
    found = status in (cp_model.OPTIMAL, cp_model.FEASIBLE)
    value = worth * (round(solver.objective_value) + constant) if found else None
    bound = worth * (round(solver.best_objective_bound) + constant)
    return value, bound

"""The integer program of cloth and passes, solved figure by figure with HiGHS.

A strip of width w is a column that offers slots of given runs; a ply of run r and width v <= w fits a slot of run r.
As widths are ordered, slots suffice exactly if for every run and every width the plies at least that wide are no
more than the slots in strips at least that wide (Hall's theorem for nested sets; P. Hall, J. London Math. Soc. 10
(1935)). Folding only ever needs more cloth than flat cuts, so flat cuts give the least cloth.

Passes of a board: at every point of the board the plies, each counting 1/limit, add up to at most the passes. That
is a lower bound on the passes, and exact where `boards.one_line` holds and all limits are equal.
"""

from dataclasses import dataclass, replace
from fractions import Fraction
from functools import reduce
from math import ceil, gcd, lcm
from time import monotonic

import highspy

from .job import Fabric
from .plies import maximal_fillings, plies_of


@dataclass
class Stage:
    """One figure of the aim: the best value found, its proved lower bound, and whether they meet."""

    figure: str
    value: Fraction
    bound: Fraction
    proved: bool


class Program:
    """The integer program of one job."""

    def __init__(self, job, threads):
        self.job = job
        self.solver = highspy.Highs()
        self.solver.setOptionValue("output_flag", False)
        self.solver.setOptionValue("threads", threads)
        self.solver.setOptionValue("mip_rel_gap", 0.0)
        self.unit = reduce(gcd, (
            value for f in job.fabrics
            for value in (f.squaring, f.resquaring, f.kept_back, f.step) if value), 0)
        self.plies = [plies_of(job, fabric) for fabric in job.fabrics]
        for plies in self.plies:
            self.unit = reduce(gcd, (ply.width for ply in plies), self.unit)
        self.passes = [self.integer() for _ in job.boards]
        self.supply, self.loads, self.dealt = {}, {}, {}
        self.use, self.found = [], None
        self.taken = [self.fabric(f) for f in range(len(job.fabrics))]
        self.steps = [self.bought(f) for f in range(len(job.fabrics))]
        self.cover()
        self.stack()

    def integer(self, upper=highspy.kHighsInf):
        """A whole number from 0."""
        return self.solver.addVariable(lb=0, ub=upper, type=highspy.HighsVarType.kInteger)

    def fabric(self, f):
        """Strips and plies of one fabric; returns the length taken, in `unit`, as an expression."""
        fabric, plies = self.job.fabrics[f], self.plies[f]
        columns = []
        for width in sorted({ply.width for ply in plies}):
            runs = {ply.run for ply in plies if ply.width <= width}
            columns += [(width, slots, self.integer()) for slots in maximal_fillings(runs, fabric.capacity)]
        counts = [(ply, self.integer()) for ply in plies]
        self.use.append(counts)
        for ply, count in counts:
            for key, patches in ply.yields:
                self.supply.setdefault(key, []).append((patches, count))
            limit = min(fabric.plies, self.job.boards[ply.board].plies)
            self.loads.setdefault((ply.board, ply.kind, limit), []).append(count)
        for run in {ply.run for ply in plies}:
            for width in {ply.width for ply in plies if ply.run == run}:
                self.solver.addConstr(
                    total(count for ply, count in counts if ply.run == run and ply.width >= width)
                    <= total(slots.get(run, 0) * strips for w, slots, strips in columns if w >= width))
        return self.length_taken(fabric, columns)

    def length_taken(self, fabric, columns):
        """Kept back + squaring + strips, in `unit`."""
        kept = fabric.kept_back // self.unit
        if not columns:
            return None, kept
        again = self.integer()
        self.solver.addConstr(5 * again + 5 >= total(strips for _, _, strips in columns))
        fixed = kept + fabric.squaring // self.unit
        return (total((width // self.unit) * strips for width, _, strips in columns)
                + (fabric.resquaring // self.unit) * again, fixed)

    def bought(self, f):
        """Selling steps to buy: an integer variable and what is bought in any case."""
        fabric, (varies, fixed) = self.job.fabrics[f], self.taken[f]
        if varies is None:
            return None, ceil(Fraction(fixed * self.unit, fabric.step) / (1 - fabric.shrinkage))
        steps = self.integer()
        # steps * step * (1 - p) >= taken, multiplied out to whole numbers.
        keep = Fraction(fabric.step, self.unit) * (1 - fabric.shrinkage)
        self.solver.addConstr(keep.numerator * steps >= keep.denominator * (varies + fixed))
        return steps, 0

    def cover(self):
        """Every demand is covered; a demand that no ply serves has no plan."""
        for key, wanted in self.job.demand.items():
            if key not in self.supply:
                raise ValueError(f"nothing cuts {key}")
            self.solver.addConstr(total(patches * count for patches, count in self.supply[key]) >= wanted)

    def stack(self):
        """Plies of one kind are dealt out to like bays; at every point of every board they fit the passes."""
        common = lcm(*(limit for _, _, limit in self.loads), 1)
        for (b, kind, limit), counts in sorted(self.loads.items()):
            dealt = [(bay, self.integer()) for bay in self.job.boards[b].kinds[kind]]
            self.solver.addConstr(total(count for _, count in dealt) == total(counts))
            for bay, count in dealt:
                self.dealt.setdefault((b, bay), []).append((limit, count))
        for b, board in enumerate(self.job.boards):
            for point in board.points:
                loads = [load for bay in point for load in self.dealt.get((b, bay), [])]
                if loads:
                    self.solver.addConstr(
                        total((common // limit) * count for limit, count in loads) <= common * self.passes[b])

    def figure(self, name):
        """(expression, constant, worth of one unit of the expression) of a figure."""
        if name == "passes":
            return total(self.passes), 0, Fraction(1)
        if name == "money":
            return self.weighted_sum(self.steps, [f.money_of_step() for f in self.job.fabrics])
        if name == "area":
            return self.weighted_sum(self.taken, [Fraction(f.width * self.unit) for f in self.job.fabrics])
        if name == "length":
            return self.weighted_sum(self.taken, [Fraction(self.unit) for _ in self.job.fabrics])
        if name == "weighted":
            ones = [Fraction(self.unit) for _ in self.job.fabrics]
            lengths, constant, worth = self.weighted_sum(self.taken, ones)
            each = Fraction(self.job.pass_length) / worth
            if each.denominator != 1:
                raise NotImplementedError("a pass worth a fraction of the common step")
            return lengths + int(each) * total(self.passes), constant, worth
        raise NotImplementedError(name)

    def weighted_sum(self, parts, prices):
        """Sum of price x (variable + fixed), scaled to whole coefficients."""
        scale = lcm(*(price.denominator for price in prices))
        worth = reduce(gcd, (int(price * scale) for price in prices))
        whole = [int(price * scale) // worth for price in prices]
        expression = total(weight * varies for weight, (varies, _) in zip(whole, parts) if varies is not None)
        constant = sum(weight * fixed for weight, (_, fixed) in zip(whole, parts))
        return expression, constant, Fraction(worth, scale)

    def solve(self, name, deadline):
        """Minimises one figure within so many seconds and holds it at its value for the figures after it."""
        expression, constant, worth = self.figure(name)
        self.solver.setOptionValue("time_limit", self.solver.getRunTime() + deadline)
        self.solver.setOptionValue("mip_abs_gap", 0.99)
        if self.found is not None:
            self.solver.setSolution(self.found)
        self.solver.minimize(expression)
        info = self.solver.getInfo()
        if info.primal_solution_status != 2:
            return Stage(name, None, worth * (bound_of(info.mip_dual_bound) + constant), False)
        self.found = self.solver.getSolution()
        value = round(info.objective_function_value)
        bound = min(value, bound_of(info.mip_dual_bound))
        self.solver.addConstr(expression <= value)
        return Stage(name, worth * (value + constant), worth * (bound + constant), bound == value)

    def hold_taken(self, f, taken):
        """Holds the length taken of one fabric at a value already proved."""
        varies, fixed = self.taken[f]
        if varies is not None:
            self.solver.addConstr(varies <= int(taken) // self.unit - fixed)

    def loads_found(self, b):
        """Plies of the last solution on one board: {(bay, limit): plies}."""
        return {
            (bay, limit): round(self.found.col_value[count.index])
            for (board, bay), dealt in self.dealt.items() if board == b for limit, count in dealt}

    def passes_found(self):
        """Passes of each board in the last solution."""
        return [round(self.found.col_value[passes.index]) for passes in self.passes]


def total(parts):
    """A sum that is an expression even when it is empty."""
    return sum(parts, highspy.highs.highs_linear_expression())


def bound_of(value):
    """A solver's bound on a whole number, rounded up; a hair below a whole number is that number."""
    return ceil(value - 1e-6) if abs(value) < 1e18 else 0


ORDER = {
    "least_cloth": ("money", "area", "passes"),
    "fewest_passes": ("passes", "money", "area"),
    "weighted": ("weighted",),
}


def alone(job, fabric):
    """The job of one fabric only."""
    demand = {key: wanted for key, wanted in job.demand.items() if key[0] == fabric.name}
    return replace(job, fabrics=[fabric], demand=demand)


def solve(job, seconds=60.0, threads=1):
    """Solves the aim's figures in order: the stages, and the program with its last solution."""
    if job.aim == "least_cloth":
        return solve_least_cloth(job, seconds, threads)
    program = Program(job, threads)
    return in_order(program, ORDER[job.aim], [], monotonic() + seconds), program


def solve_least_cloth(job, seconds, threads):
    """Without a price on passes the fabrics have nothing in common, and the length to buy and the area taken both
    grow with the length taken: each fabric's length is minimised alone."""
    end = monotonic() + seconds
    program, lengths = Program(job, threads), []
    for f, fabric in enumerate(job.fabrics):
        single = Program(alone(job, fabric), threads)
        lengths.append(single.solve("length", max(1.0, (end - monotonic()) / (len(job.fabrics) - f))))
        if lengths[-1].proved:
            program.hold_taken(f, lengths[-1].value)
    stages = [summed("money", job, lengths, Fabric.money), summed("area", job, lengths, Fabric.area)]
    return in_order(program, ("passes",), stages, end), program


def summed(figure, job, lengths, worth):
    """A figure that follows from every fabric's length taken."""
    value = sum(worth(fabric, length.value) for fabric, length in zip(job.fabrics, lengths))
    bound = sum(worth(fabric, length.bound) for fabric, length in zip(job.fabrics, lengths))
    return Stage(figure, value, bound, value == bound)


def in_order(program, figures, stages, end):
    """Solves figures after the given stages, as long as the one before is proved and time is left."""
    for name in figures:
        left = end - monotonic()
        if left <= 0 or (stages and not stages[-1].proved):
            break
        stages.append(program.solve(name, left))
    return stages

"""The published fewest open stacks, proved again without the program.

Source: `data/open-stacks/README.md`. The program's own search is held against the same file in
`crates/group/tests/open_stacks.rs`. It goes through sets of closed bags, depth first; here sets of customers that are
begun are gone through breadth first, to the end, and OR-Tools CP-SAT proves the smaller cases by a third way.
"""

import json

from ortools.sat.python import cp_model
import pytest

from harness import HERE

CASES = [json.loads(line) for line in (HERE / "data" / "open-stacks" / "instances.jsonl").read_text().splitlines()]
NAMES = [case["name"] for case in CASES]
# What CP-SAT settles within seconds.
QUICK = ["nwrsSmaller4_1", "wbp_30_15_1"]


def bits(flags):
    """A set as a number."""
    return sum(1 << at for at, flag in enumerate(flags) if flag == "1")


def an_order_exists(case, most):
    """Whether some order has at most `most` open. A product whose customers are all begun is made at once: nothing is lost.

    So what is made, and who is done, follows from who is begun.
    """
    wants = [bits(row) for row in case["orders"]]
    buyers = [bits(row[product] for row in case["orders"]) for product in range(len(case["order"]))]
    everybody = (1 << len(wants)) - 1
    seen, new = {0}, [0]
    while new:
        begun = new.pop()
        made = sum(1 << at for at, own in enumerate(buyers) if own & ~begun == 0)
        done = sum(1 for own in wants if own & ~made == 0)
        if made == (1 << len(buyers)) - 1 or begun == everybody:
            return True
        for at, own in enumerate(buyers):
            after = begun | own
            if not made >> at & 1 and after.bit_count() - done <= most and after not in seen:
                seen.add(after)
                new.append(after)
    return False


@pytest.mark.parametrize("case", CASES, ids=NAMES)
def test_the_published_number_is_the_fewest(case):
    """So many will do, one less will not."""
    assert an_order_exists(case, case["fewest"])
    assert not an_order_exists(case, case["fewest"] - 1)


@pytest.mark.parametrize("name", QUICK)
def test_cp_sat_finds_no_order_with_fewer(name):
    """Every customer is open from the first to the last of their products, which stand in different places."""
    case = next(case for case in CASES if case["name"] == name)
    products = len(case["order"])
    model = cp_model.CpModel()
    at = [model.new_int_var(0, products - 1, f"at {product}") for product in range(products)]
    model.add_all_different(at)
    open_for = []
    for number, wants in enumerate(case["orders"]):
        first = model.new_int_var(0, products - 1, f"first {number}")
        last = model.new_int_var(0, products - 1, f"last {number}")
        long = model.new_int_var(1, products, f"long {number}")
        own = [at[product] for product, wanted in enumerate(wants) if wanted == "1"]
        model.add_min_equality(first, own)
        model.add_max_equality(last, own)
        open_for.append(model.new_interval_var(first, long, last + 1, f"open {number}"))
    model.add_cumulative(open_for, [1] * len(open_for), case["fewest"] - 1)
    solver = cp_model.CpSolver()
    solver.parameters.max_time_in_seconds = 120
    solver.parameters.num_workers = 1
    assert solver.solve(model) == cp_model.INFEASIBLE

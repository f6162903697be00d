"""Squares cut from a quarter, half, three quarters of a yard, a yard and a fat quarter.

Source of the table: counting, floor(L / x) strips of floor(u / x) squares each (a pure grid, one direction), for
L = 9, 18, 27, 36 in and usable widths u of 40 and 42 in; fat quarters 18 in long, 20 or 21 in wide (common practice,
no source). The program plans the tabulated number, which must come out of the length, and one more, which must not.
"""

import pytest

from harness import fabric, plan, scenario, single_position_board, taken

LENGTHS = (9, 18, 27, 36)

# cut square: u = 40 in; u = 42 in; fat quarters 18 x 20, 18 x 21
TABLE = {
    1.5: ((156, 312, 468, 624), (168, 336, 504, 672), (156, 168)),
    2: ((80, 180, 260, 360), (84, 189, 273, 378), (90, 90)),
    2.5: ((48, 112, 160, 224), (48, 112, 160, 224), (56, 56)),
    3: ((39, 78, 117, 156), (42, 84, 126, 168), (36, 42)),
    3.5: ((22, 55, 77, 110), (24, 60, 84, 120), (25, 30)),
    4: ((20, 40, 60, 90), (20, 40, 60, 90), (20, 20)),
    4.5: ((16, 32, 48, 64), (18, 36, 54, 72), (16, 16)),
    5: ((8, 24, 40, 56), (8, 24, 40, 56), (12, 12)),
    5.5: ((7, 21, 28, 42), (7, 21, 28, 42), (9, 9)),
    6: ((6, 18, 24, 36), (7, 21, 28, 42), (9, 9)),
    6.5: ((6, 12, 24, 30), (6, 12, 24, 30), (6, 6)),
    7: ((5, 10, 15, 25), (6, 12, 18, 30), (4, 6)),
    8: ((5, 10, 15, 20), (5, 10, 15, 20), (4, 4)),
    8.5: ((4, 8, 12, 16), (4, 8, 12, 16), (4, 4)),
    9: ((4, 8, 12, 16), (4, 8, 12, 16), (4, 4)),
    10: ((0, 4, 8, 12), (0, 4, 8, 12), (2, 2)),
    10.5: ((0, 3, 6, 9), (0, 4, 8, 12), (1, 2)),
    12: ((0, 3, 6, 9), (0, 3, 6, 9), (1, 1)),
    12.5: ((0, 3, 6, 6), (0, 3, 6, 6), (1, 1)),
}


def cells(square):
    """(width, length, squares) of one row of the table."""
    at_40, at_42, fat = TABLE[square]
    for width, counts in ((40, at_40), (42, at_42)):
        yield from ((width, length, count) for length, count in zip(LENGTHS, counts))
    yield from ((width, 18, count) for width, count in zip((20, 21), fat))


@pytest.mark.parametrize("square", TABLE)
def test_squares_from_a_length(square):
    fabrics, loose, wanted = [], [], []
    for width, length, count in cells(square):
        for squares in (count, count + 1):
            name = f"{squares} from {length} x {width}"
            fabrics.append(fabric(name, str(width)))
            if squares:
                loose.append({"shape": "square", "fabric": name, "count": squares})
            wanted.append((name, length, squares == count))
    shapes = [{"name": "square", "kind": "square", "side": str(square - 0.5)}]
    made = plan(scenario(fabrics, shapes, [single_position_board("square")], loose_patches=loose))
    for name, length, comes_out in wanted:
        assert (taken(made, name) <= length) == comes_out, name

"""Backing, binding and border lengths, entered as kept back, come out as the tabulated lengths to buy.

Source of the lengths: worked by counting panels and strips (backing: the top and 4 in a side, seams 1/4 in; binding:
2(W + L) + 10 in, strips 2 1/2 in wide; usable width 40 or 42 in). The 4 in a side are from the backing and binding
page of a quilt charity (Quilts of Valor Foundation, 13 July 2020); selling by the eighth of a yard is common practice,
no source. The program does not work out borders, backing and binding itself.
"""

import pytest

from harness import bought_yards, fabric, one_fabric, plan, scenario, single_position_board

# what, inches kept back, yards to buy
LENGTHS = [
    ("backing 36 x 52, upright seams, 2 panels of 60", "120", 3.375),
    ("backing 36 x 52, level seams, 2 panels of 44", "88", 2.5),
    ("backing 60 x 72, upright seams, 2 panels of 80", "160", 4.5),
    ("backing 60 x 72, level seams, 3 panels of 68", "204", 5.75),
    ("backing 60 x 72, level seams, 2 panels of 68", "136", 3.875),
    ("backing 84 x 96, upright seams, 3 panels of 104", "312", 8.75),
    ("backing 84 x 96, level seams, 3 panels of 92", "276", 7.75),
    ("backing 90 x 108, upright seams, 3 panels of 116", "348", 9.75),
    ("backing 90 x 108, level seams, 3 panels of 98", "294", 8.25),
    ("backing 120 x 120, 4 panels of 128", "512", 14.25),
    ("binding 186 in, 5 strips", "12 1/2", 0.375),
    ("binding 274 in, 7 strips", "17 1/2", 0.5),
    ("binding 274 in, 8 strips", "20", 0.625),
    ("binding 370 in, 10 strips", "25", 0.75),
    ("binding 370 in, 9 strips", "22 1/2", 0.625),
    ("binding 406 in, 11 strips", "27 1/2", 0.875),
    ("border strips pooled, 6 strips of 4 1/2", "27", 0.75),
    ("border strips side by side, 8 strips of 4 1/2", "36", 1.0),
]


def with_kept_back(entries):
    """One fabric per entry, with nothing cut from it, and a small square so that there is something to plan."""
    fabrics = [fabric(name, "42", kept_back=[{"what": name, "length": length}], **more) for name, length, more in entries]
    fabrics.append(fabric("squares", "42"))
    return scenario(
        fabrics, [{"name": "square", "kind": "square", "side": "3"}], [single_position_board("square")],
        loose_patches=[{"shape": "square", "fabric": "squares", "count": 1}])


def test_lengths_to_buy():
    made = plan(with_kept_back([(what, length, {}) for what, length, _ in LENGTHS]))
    for what, _, yards in LENGTHS:
        assert bought_yards(made, what) == yards, what


# Source: cut / (1 - p), not cut x (1 + p); to keep 36 in buy 36.735, 37.113, 37.895 in at 2, 3, 5 %.
SHRINKAGE = [("2", 36.735), ("3", 37.113), ("5", 37.895)]


@pytest.mark.parametrize("percent,inches", SHRINKAGE)
def test_shrinkage(percent, inches):
    more = {"shrinkage_percent": percent, "selling_step": "1/64"}
    made = plan(with_kept_back([("shrinks", "36", more)]))
    bought = one_fabric(made, "shrinks")["bought"] / 8128
    assert inches - 0.0005 <= bought < inches + 1 / 64


# Source: 44 in wide becomes 43.12, 42.68, 41.80 in at 2, 3, 5 %. Squares of 43.12 / 11 in and so on: as many fit.
WIDTHS = [("2", "3.92", 11), ("3", "3.88", 11), ("5", "3.8", 11)]


@pytest.mark.parametrize("percent,square,count", WIDTHS)
def test_width_after_washing(percent, square, count):
    """44 (1 - p) is eleven times 3.92, 3.88 and 3.80 in; those hold a sixty-fourth more or less than a typed length
    can say, so eleven squares just under fit in one strip and eleven squares just over need two."""
    exact = float(square) * 64
    for sixty_fourths, strips in ((int(exact), 1), (int(exact) + 1, 2)):
        side = str((sixty_fourths - 32) / 64)
        spec = scenario(
            [fabric("cloth", "44", width_measured="before_washing", shrinkage_percent=percent)],
            [{"name": "square", "kind": "square", "side": side}], [single_position_board("square")],
            loose_patches=[{"shape": "square", "fabric": "cloth", "count": count}])
        spec["rules"]["ruler_step"] = "1/64"
        assert len(one_fabric(plan(spec), "cloth")["strips"]) == strips

"""Cut sizes as the program reports them.

Source of every value: allowances derived from exact geometry, an outline offset by the seam allowance s
(common practice rounds them to f + 1/2, f + 7/8, f + 1 1/4; those rules have no source of their own).
"""

import pytest

from harness import scenario, single_position_board, fabric, sizes

# name, shape, cut width, cut height; s = 1/4 in unless the shape says otherwise; points not trimmed.
CUT = [
    ("square: f + 2s", {"kind": "square", "side": "3"}, 3.5, 3.5),
    ("rectangle: each side + 2s", {"kind": "rectangle", "width": "1 1/2", "height": "3"}, 2.0, 3.5),
    ("half-square triangle: leg f + s(2 + sqrt 2)", {"kind": "half_square_triangle", "side": "3"}, 3.853553, 3.853553),
    ("quarter-square triangle: long side f + s(2 + 2 sqrt 2)",
     {"kind": "quarter_square_triangle", "width": "4"}, 5.207107, 5.207107 / 2),
    ("goose is a quarter-square triangle", {"kind": "goose", "width": "4"}, 5.207107, 5.207107 / 2),
    ("sky of a goose is a half-square triangle of half its width", {"kind": "goose_sky", "width": "4"}, 2.853553, 2.853553),
    ("equilateral triangle: side + 2s sqrt 3, height + 3s",
     {"kind": "equilateral_triangle", "side": "3"}, 3.866025, 3 * 0.8660254 + 0.75),
    ("hexagon: across flats + 2s", {"kind": "hexagon", "side": "2"}, None, 2 * 1.7320508 + 0.5),
    ("half-rectangle triangle 2 x 4", {"kind": "half_rectangle_triangle", "width": "2", "height": "4"}, 2.654508, 5.309017),
    ("convex quarter: curve R + s about the finished corner, straight edges + s",
     {"kind": "convex_quarter", "radius": "3"}, 3.5, 3.5),
    ("half-square triangle, 5 mm seams: + 17.071 mm",
     {"kind": "half_square_triangle", "side": "100 mm", "seam": "5 mm"}, 117.071 / 25.4, 117.071 / 25.4),
    ("half-square triangle, 7.5 mm seams: + 25.607 mm",
     {"kind": "half_square_triangle", "side": "100 mm", "seam": "7.5 mm"}, 125.607 / 25.4, 125.607 / 25.4),
    ("quarter-square triangle, 6 mm seams: + 28.971 mm",
     {"kind": "quarter_square_triangle", "width": "100 mm", "seam": "6 mm"}, 128.971 / 25.4, None),
    ("quarter-square triangle, 7 mm seams: + 33.799 mm",
     {"kind": "quarter_square_triangle", "width": "100 mm", "seam": "7 mm"}, 133.799 / 25.4, None),
]

# The printed values have six decimals (three in millimetres) and the program rounds up to 1/8128 in.
TOLERANCE = 2 / 8128


def one_shape(shape):
    """A scenario that holds one shape."""
    return scenario(
        [fabric("cloth", "42")], [{"name": "it", "tips": "untrimmed", **shape}], [single_position_board("it")],
        loose_patches=[{"shape": "it", "fabric": "cloth", "count": 1}])


@pytest.mark.parametrize("what,shape,width,height", CUT, ids=[row[0] for row in CUT])
def test_cut_size(what, shape, width, height):
    entry = sizes(one_shape(shape))["shapes"][0]
    got = [entry[side]["in_8128ths"] / 8128 for side in ("cut_width", "cut_height")]
    for value, wanted in zip(got, (width, height)):
        if wanted is not None:
            assert value == pytest.approx(wanted, abs=TOLERANCE), what


PAIRED = [
    ("pair of half-square triangles, 3 in: square 3 7/8 by rule, 3.853553 exact", "pair",
     {"kind": "half_square_triangle", "side": "3"}, 3.853553, "3 7/8"),
    ("four quarter-square triangles, 4 in: square 5 1/4 by rule, 5.207107 exact", "four",
     {"kind": "quarter_square_triangle", "width": "4"}, 5.207107, "5 1/4"),
]


@pytest.mark.parametrize("what,arrangement,shape,exact,rule", PAIRED, ids=[row[0] for row in PAIRED])
def test_triangles_from_a_square(what, arrangement, shape, exact, rule):
    """The cloth of one ply without margins is the exact square rounded up to 1/8 in: the sewer's rule of thumb."""
    spec = one_shape(shape)
    spec["boards"][0]["positions"][0].update(as_drawn=2 if arrangement == "pair" else 4, arrangement=arrangement)
    area = sizes(spec)["boards"][0]["areas"][0]
    for side in ("cloth_across", "cloth_along"):
        got = area[side]["in_8128ths"] / 8128
        whole, fraction = rule.split()
        over, under = fraction.split("/")
        assert got == int(whole) + int(over) / int(under), what
        assert got - 1 / 8 < exact <= got

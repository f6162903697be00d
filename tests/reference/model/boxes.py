"""Cut sizes: the smallest box round the patches of one position.

The sizes follow from offsetting every edge of the finished outline by the seam allowance s:
square f + 2s; half-square triangles cut as a pair f + s(2 + sqrt 2); quarter-square triangles cut as four
f + s(2 + 2 sqrt 2); half-rectangle triangles cut as a pair w + s(1 + (w + d)/h) by h + s(1 + (h + d)/w) with
d = sqrt(w^2 + h^2).
"""

from .lengths import root_up


def half_rectangle_side(own, other, seam):
    """own + s(1 + (own + d)/other), rounded up to the unit, in whole numbers throughout."""
    diagonal_square = own * own + other * other
    side = own + seam + (seam * own) // other
    while True:
        # Wanted: (side - own - seam) * other >= seam * own + seam * sqrt(diagonal_square).
        spare = (side - own - seam) * other - seam * own
        if spare >= 0 and spare * spare >= seam * seam * diagonal_square:
            return side
        side += 1


def patch_box(shape, arrangement):
    """(across, along) of one arrangement of the shape before any quarter turn."""
    kind, seam = shape["kind"], shape["seam"]
    if kind == "square" and arrangement in ("single", "row"):
        return shape["side"] + 2 * seam, shape["side"] + 2 * seam
    if kind == "rectangle" and arrangement in ("single", "row"):
        return shape["width"] + 2 * seam, shape["height"] + 2 * seam
    if kind == "half_square_triangle" and arrangement == "pair":
        side = shape["side"] + 2 * seam + root_up(2 * seam * seam)
        return side, side
    if kind == "quarter_square_triangle" and arrangement == "four":
        side = shape["width"] + 2 * seam + root_up(8 * seam * seam)
        return side, side
    if kind == "half_rectangle_triangle" and arrangement == "pair":
        width, height = shape["width"], shape["height"]
        return half_rectangle_side(width, height, seam), half_rectangle_side(height, width, seam)
    raise NotImplementedError(f"{kind} laid as {arrangement}")


def position_box(shape, arrangement, patches, gap, quarter_turn):
    """(across, along) of one position."""
    across, along = patch_box(shape, arrangement)
    if arrangement == "row":
        across = patches * across + (patches - 1) * gap
    return (along, across) if quarter_turn in (90, 270) else (across, along)


def handed(shape):
    """Whether the shape differs from its mirror image; only half-rectangle triangles do, unless legs are equal."""
    return shape["kind"] == "half_rectangle_triangle" and shape["width"] != shape["height"]

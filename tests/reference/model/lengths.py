"""Lengths in whole units of 1/8128 in, the coarsest unit in which 1/64 in and 0.1 mm are both whole."""

from fractions import Fraction
from math import isqrt
import re

INCH = 8128
UNIT_OF = {
    "in": Fraction(INCH),
    "yd": Fraction(36 * INCH),
    "mm": Fraction(INCH * 10, 254),
    "cm": Fraction(INCH * 100, 254),
    "m": Fraction(INCH * 10000, 254),
}


def number(text):
    """`4`, `4.5`, `1/8` or `4 1/2` as a fraction."""
    parts = str(text).split()
    return sum((Fraction(part) for part in parts), Fraction(0))


def length(text, system):
    """A typed length in units; a bare number is inches, or centimetres in a metric scenario."""
    match = re.fullmatch(r"\s*([0-9./ ]+?)\s*(in|yd|mm|cm|m)?\s*", str(text))
    if match is None:
        raise ValueError(f"not a length: {text!r}")
    unit = match.group(2) or ("cm" if system == "metric" else "in")
    value = number(match.group(1)) * UNIT_OF[unit]
    if value.denominator != 1:
        raise ValueError(f"not whole in 1/8128 in: {text!r}")
    return int(value)


def up(value, step):
    """The multiple of `step` at or above `value`."""
    return -(-value // step) * step


def root_up(square):
    """The whole number at or above the square root of a whole number."""
    root = isqrt(square)
    return root if root * root == square else root + 1


def inches(units):
    """For messages only."""
    return float(units) / INCH

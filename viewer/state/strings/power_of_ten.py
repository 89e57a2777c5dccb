"""Numbers too small to be written out, with their power of ten as it is printed: 3.5 × 10⁻⁹."""

from math import floor, isfinite, log10

from viewer.physics.nomenclature import with_minus

RAISED = str.maketrans("-0123456789", "⁻⁰¹²³⁴⁵⁶⁷⁸⁹")


def exponent_of(value: float) -> int:
    """The power of ten that leaves one digit before the point; 0 for zero and what is no number."""
    return floor(log10(abs(value))) if value and isfinite(value) else 0


def with_power(value: float, exponent: int, decimals: int) -> str:
    """`value` by that power of ten; two numbers by the same one can be compared."""
    power = str(exponent).translate(RAISED)
    return with_minus(f"{value / 10.0**exponent:.{decimals}f} × 10{power}")

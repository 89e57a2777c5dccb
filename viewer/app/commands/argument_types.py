"""Numbers and days on the command line: what cannot be meant is refused in one sentence."""

import argparse
import math
from collections.abc import Callable
from datetime import date

LEAST_TEMPERATURE, MOST_TEMPERATURE = -90.0, 120.0
"""°C, of air, modules and cells: the coldest air on record, and hotter than any module gets."""
MOST_IRRADIANCE = 2500.0
"""W/m², more than cloud enhancement gives; a trace's reading beyond it is set aside, too."""
LARGEST_WHOLE = 2**63 - 1
"""What a site file can hold."""
MOST_MODULES = 200
"""In series; the longest strings have some forty."""
MOST_VOLTS = 100_000.0
"""V, far beyond any string's."""


def number(least: float = -math.inf, most: float = math.inf) -> Callable[[str], float]:
    """A finite number from `least` to `most`; raises argparse's error with one sentence."""

    def read(text: str) -> float:
        try:
            value = float(text)
        except ValueError:
            point = "; the decimal mark is a point" if "," in text else ""
            raise argparse.ArgumentTypeError(f"'{text}' is not a number{point}") from None
        if not math.isfinite(value):
            raise argparse.ArgumentTypeError(f"'{text}' is not a number that can be meant")
        if not least <= value <= most:
            raise argparse.ArgumentTypeError(f"{text} does not lie {_between(least, most)}")
        return value

    return read


def temperature(text: str) -> float:
    """°C."""
    return number(LEAST_TEMPERATURE, MOST_TEMPERATURE)(text)


def irradiance(text: str) -> float:
    """W/m²; that it is above 0 is said by the commands."""
    return number(most=MOST_IRRADIANCE)(text)


def rating(text: str) -> float:
    """Volts or amperes that something withstands."""
    value = number(least=0.0)(text)
    if value == 0.0:
        raise argparse.ArgumentTypeError("a rating is above 0")
    return value


def count(least: int, most: int) -> Callable[[str], int]:
    """A whole number from `least` to `most`."""

    def read(text: str) -> int:
        value = whole(text)
        if not least <= value <= most:
            raise argparse.ArgumentTypeError(f"{text} does not lie {_between(least, most)}")
        return value

    return read


def whole(text: str) -> int:
    """A whole number; what it may be is said by the commands."""
    try:
        value = int(text)
    except ValueError:
        raise argparse.ArgumentTypeError(f"'{text}' is not a whole number") from None
    if abs(value) > LARGEST_WHOLE:
        raise argparse.ArgumentTypeError(f"{text} is too large a number")
    return value


def day(text: str) -> date:
    """A date written YYYY-MM-DD."""
    try:
        return read_day(text)
    except ValueError as problem:
        raise argparse.ArgumentTypeError(str(problem)) from None


def read_day(text: str) -> date:
    """The same inside a longer argument. Raises ValueError with one sentence."""
    try:
        return date.fromisoformat(text)
    except ValueError:
        raise ValueError(f"'{text}' is not a date; write YYYY-MM-DD") from None


def _between(least: float, most: float) -> str:
    if math.isinf(most):
        return f"at or above {least:g}"
    if math.isinf(least):
        return f"at or below {most:g}"
    return f"from {least:g} to {most:g}"

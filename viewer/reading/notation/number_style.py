"""How numbers are written in a file: decimal mark, thousands mark, gaps."""

import math
import re
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from viewer.reading.notation.units import unit_of

GAPS = frozenset(
    ("", "-", "--", "---", "nan", "na", "n/a", "#n/a", "null", "none", "inf", "-inf", "ovl", "ol")
)
"""Words that stand for a missing number, in small letters."""

_SPACES = "\u0020\u00a0\u2009\u202f"


@dataclass(frozen=True)
class NumberStyle:
    """`decimal` is "." or ","; `thousands` is "", ".", ",", "'" or " " (any narrow space)."""

    decimal: str = "."
    thousands: str = ""

    def number(self, cell: str) -> float | None:
        """The cell's number, NaN for a gap, None for other text. A unit behind it is ignored."""
        quick = self._quick(cell)
        if quick is not None:
            return quick
        if cell.strip().lower() in GAPS:
            return math.nan
        match = self._pattern.fullmatch(cell.strip())
        if match is None or (match[2] and unit_of(match[2]) is None):
            return None
        digits = match[1].replace("\u2212", "-")
        if self.thousands:
            marks = _SPACES if self.thousands == " " else self.thousands
            digits = re.sub(f"[{marks}]", "", digits)
        value = float(digits.replace(self.decimal, "."))
        return value if math.isfinite(value) else math.nan

    def unit_behind(self, cell: str) -> str:
        """The unit written behind the cell's number, "" if there is none."""
        match = self._pattern.fullmatch(cell.strip())
        return match[2] if match is not None and match[2] and unit_of(match[2]) else ""

    def _quick(self, cell: str) -> float | None:
        """Python's own reading where it means the same, None to look more closely."""
        if self.thousands or "_" in cell:
            return None
        if self.decimal != ".":
            if "." in cell:
                return None
            cell = cell.replace(self.decimal, ".")
        try:
            value = float(cell)
        except ValueError:
            return None
        return value if math.isfinite(value) else math.nan

    def column(self, cells: list[str]) -> NDArray[np.float64] | None:
        """All cells as numbers at once, None if that needs a closer look."""
        joined = "\n".join(cells)
        if self.thousands or "_" in joined or (self.decimal != "." and "." in joined):
            return None
        try:
            values = np.array(list(map(float, joined.replace(self.decimal, ".").split("\n"))))
        except ValueError:
            return None
        values[~np.isfinite(values)] = np.nan
        return values

    @cached_property
    def _pattern(self) -> re.Pattern[str]:
        point = re.escape(self.decimal)
        whole = r"\d+"
        if self.thousands:
            marks = _SPACES if self.thousands == " " else re.escape(self.thousands)
            whole = rf"(?:\d{{1,3}}(?:[{marks}]\d{{3}})+|\d+)"
        number = rf"[-+\u2212]?(?:{whole}(?:{point}\d*)?|{point}\d+)(?:[eE][-+]?\d{{1,3}})?"
        return re.compile(rf"({number})(?:\s*([^\d\s.,;:+\-]\S{{0,8}}))?", re.ASCII)


POINT = NumberStyle()
"""Decimal point, no thousands mark."""

STYLES = (
    POINT,
    NumberStyle(",", ""),
    NumberStyle(".", ","),
    NumberStyle(",", "."),
    NumberStyle(".", "'"),
    NumberStyle(".", " "),
    NumberStyle(",", " "),
)
"""Styles to try, the likelier first."""

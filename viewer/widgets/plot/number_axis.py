"""An axis whose values are written as all other numbers are: negative ones with a minus sign, very
small and very large ones with their power of ten, the same for all, and zero as zero. They are so
far apart that none runs into the next, however short the axis is."""

from collections.abc import Sequence
from math import ceil, floor, log10

import pyqtgraph as pg
from PySide6.QtGui import QFontMetricsF
from PySide6.QtWidgets import QApplication

from viewer.physics.nomenclature import with_minus
from viewer.state.strings.power_of_ten import exponent_of, with_power

FINEST, LARGEST = 1e-4, 1e6
"""Steps below the first and values from the second on are written with a power of ten."""
NOTHING = 1e-6
"""Of a step: what is left of zero where steps do not add up in binary."""


DIGITS = 0.85
"""Of a line's height that digits take, which reach below no line."""
BETWEEN = 8.0
"""Pixels between two values side by side."""


class NumberAxis(pg.AxisItem):
    def tickSpacing(self, least: float, most: float, size: float) -> list[tuple[float, float]]:
        levels = super().tickSpacing(least, most, size)
        if not levels or not size > 0.0:
            return levels
        first, offset = levels[0]
        pixels = size / abs(most - least)
        while first * pixels < self._room_for_one(least, most, first):
            first = _coarser(first)
        return [(first, offset), *levels[1:]]

    def _room_for_one(self, least: float, most: float, step: float) -> float:
        """Pixels along the axis that a value takes."""
        metrics = QFontMetricsF(self.style["tickFont"] or QApplication.font())
        if self.orientation in ("left", "right"):
            return DIGITS * metrics.height()
        ends = [step * round(one / step) for one in (least, most)]
        written = self.tickStrings(ends, self.autoSIPrefixScale * self.scale, step)
        return max(map(metrics.horizontalAdvance, written)) + BETWEEN

    def tickStrings(self, values: Sequence[float], scale: float, spacing: float) -> list[str]:
        step = abs(spacing * scale)
        shown = [0.0 if abs(v * scale) < NOTHING * step else float(v * scale) for v in values]
        largest = max(map(abs, shown), default=0.0)
        if step >= FINEST and largest < LARGEST:
            decimals = max(0, ceil(-log10(step) - NOTHING))
            return [with_minus(f"{v:.{decimals}f}") if v else "0" for v in shown]
        power = exponent_of(largest)
        decimals = max(0, power - floor(log10(step) + NOTHING))
        return [with_power(v, power, decimals) if v else "0" for v in shown]


def _coarser(step: float) -> float:
    """The next of 1, 2, 5, 10, ..."""
    power = 10.0 ** floor(log10(step) + NOTHING)
    digit = round(step / power)
    return power * next(one for one in (2, 5, 10) if one > digit)


def number_axes() -> dict[str, pg.AxisItem]:
    """The two axes of a new plot, by the names that pyqtgraph asks for."""
    return {side: NumberAxis(side) for side in ("left", "bottom")}

"""An axis whose values are written as all other numbers are: negative ones with a minus sign, very
small and very large ones with their power of ten, the same for all, and zero as zero."""

from collections.abc import Sequence
from math import ceil, floor, log10

import pyqtgraph as pg

from viewer.physics.nomenclature import with_minus
from viewer.state.strings.power_of_ten import exponent_of, with_power

FINEST, LARGEST = 1e-4, 1e6
"""Steps below the first and values from the second on are written with a power of ten."""
NOTHING = 1e-6
"""Of a step: what is left of zero where steps do not add up in binary."""


class NumberAxis(pg.AxisItem):
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


def number_axes() -> dict[str, pg.AxisItem]:
    """The two axes of a new plot, by the names that pyqtgraph asks for."""
    return {side: NumberAxis(side) for side in ("left", "bottom")}

"""An axis whose values are written as all other numbers are: negative ones with a minus sign."""

import pyqtgraph as pg


class NumberAxis(pg.AxisItem):
    def tickStrings(self, values: list[float], scale: float, spacing: float) -> list[str]:
        return [one.replace("-", "−") for one in super().tickStrings(values, scale, spacing)]


def number_axes() -> dict[str, pg.AxisItem]:
    """The two axes of a new plot, by the names that pyqtgraph asks for."""
    return {side: NumberAxis(side) for side in ("left", "bottom")}

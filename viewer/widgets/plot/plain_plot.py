"""A small plot beside words or a form: axes with units, in the manner of the curves' axes."""

import pyqtgraph as pg
from PySide6.QtGui import QMouseEvent
from PySide6.QtWidgets import QWidget

from viewer.widgets.controls.theme import Theme
from viewer.widgets.plot.curve_pens import GRID
from viewer.widgets.plot.number_axis import number_axes

SIDES = ("left", "bottom")


class PlainPlot(pg.PlotWidget):
    """`name` is what a screen reader says. A double click shows everything again."""

    def __init__(self, name: str, left: str, bottom: str, parent: QWidget | None = None) -> None:
        super().__init__(parent, enableMenu=False, axisItems=number_axes())
        self.setAccessibleName(name)
        self.setMinimumSize(160, 80)
        self.hideButtons()
        self.showGrid(x=True, y=True, alpha=GRID)
        for side, title in zip(SIDES, (left, bottom), strict=True):
            axis = self.getAxis(side)
            axis.enableAutoSIPrefix(False)
            axis.setStyle(maxTickLevel=0)
            self.setLabel(side, title)

    def dress(self, theme: Theme) -> None:
        self.setBackground(theme.base)
        for side in SIDES:
            self.getAxis(side).setPen(theme.axis)
            self.getAxis(side).setTextPen(theme.axis)

    def mouseDoubleClickEvent(self, event: QMouseEvent) -> None:
        super().mouseDoubleClickEvent(event)
        if self.getPlotItem().vb.state["mouseEnabled"][0]:
            self.getPlotItem().enableAutoRange()

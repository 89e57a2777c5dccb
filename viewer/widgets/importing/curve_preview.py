"""The sweeps of one file as curves, before they are imported."""

from collections.abc import Sequence

import numpy as np
import pyqtgraph as pg
from PySide6.QtWidgets import QWidget

from viewer.site_data.iv_trace import Trace
from viewer.widgets.controls.binding import follow
from viewer.widgets.controls.theme import Look
from viewer.widgets.plot.plain_plot import PlainPlot

MOST_CURVES = 40
"""Curves drawn; a file with more shows the first ones."""


class CurvePreview(PlainPlot):
    def __init__(self, look: Look, parent: QWidget | None = None) -> None:
        super().__init__("Curves of the file", "Current (A)", "Voltage (V)", parent)
        self._look = look
        self._traces: tuple[Trace, ...] = ()
        self.setMinimumHeight(110)
        follow(self, look.theme.changed, self.draw)
        self.draw()

    def show_traces(self, traces: Sequence[Trace]) -> None:
        self._traces = tuple(traces[:MOST_CURVES])
        self.draw()
        self.autoRange()

    def draw(self, *_: object) -> None:
        theme = self._look.theme.value
        self.dress(theme)
        self.clear()
        alone = len(self._traces) == 1
        for trace in self._traces:
            order = np.argsort(trace.voltage, kind="stable")
            line = pg.PlotDataItem(
                trace.voltage[order],
                trace.current[order],
                pen=pg.mkPen(theme.accent, width=2 if alone else 1),
                symbol="o" if alone else None,
                symbolSize=4,
                symbolPen=pg.mkPen(theme.text),
                symbolBrush=pg.mkBrush(theme.base),
            )
            self.addItem(line)

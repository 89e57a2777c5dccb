"""Two small plots about the years: power ratios by visit, and one string's history."""

from collections.abc import Sequence
from typing import Any

import numpy as np
import pyqtgraph as pg
from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QColor
from PySide6.QtWidgets import QWidget

from viewer.analysis.years.string_rates import StringRates
from viewer.physics.nomenclature import quantity
from viewer.state.years.over_years import VisitRatios, box_numbers
from viewer.state.years.rate_rows import History
from viewer.widgets.controls.theme import LIGHT, MEDIUM, Theme
from viewer.widgets.plot.curve_pens import GRID
from viewer.widgets.plot.drawn_when_seen import DrawnWhenSeen

SPREAD = 0.28
"""Half the width over which the points of a visit are spread, in places of the axis."""
MOST_POINTS = 500
GOLDEN = 0.6180339887498949


class SmallPlot(DrawnWhenSeen):
    """A plot in the theme's colours."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.theme: Theme = LIGHT
        item = self.getPlotItem()
        item.showGrid(x=False, y=True, alpha=GRID)
        for side in ("left", "bottom"):
            item.getAxis(side).enableAutoSIPrefix(False)
        item.getAxis("left").setStyle(maxTickLevel=0)
        item.getAxis("bottom").setStyle(hideOverlappingLabels=False)
        item.getAxis("bottom").setHeight(self.fontMetrics().height() + MEDIUM)
        self.setMinimumSize(170, 120)

    def set_theme(self, theme: Theme) -> None:
        self.theme = theme
        self.setBackground(theme.base)
        for side in ("left", "bottom"):
            axis = self.getPlotItem().getAxis(side)
            axis.setPen(theme.axis)
            axis.setTextPen(theme.axis)
        self.draw_later()


class RatioBoxes(SmallPlot):
    """The distribution of the power ratio on each visit: a box, its points, the current string."""

    picked = Signal(str)
    """Passes the id of the trace whose point was clicked."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setAccessibleName("Power ratios of all strings, visit by visit")
        self.setLabel("left", quantity("power_ratio").label)
        self.getPlotItem().getViewBox().setMouseEnabled(x=False, y=True)
        self.visits: tuple[VisitRatios, ...] = ()
        self._current: frozenset[str] = frozenset()
        self._marked: frozenset[str] = frozenset()
        self._marks = pg.ScatterPlotItem()
        self._marks.setZValue(2)

    def show_visits(self, visits: tuple[VisitRatios, ...], current: frozenset[str]) -> None:
        """`current`: ids of the current string's traces, marked among the rest."""
        self._current = current
        if visits is not self.visits:
            self.visits = visits
            self.draw_later()
        elif current != self._marked:
            self._mark_current()

    def draw(self) -> None:
        plot = self.getPlotItem()
        plot.clear()
        months = [(place, one.month) for place, one in enumerate(self.visits)]
        plot.getAxis("bottom").setTicks([months])
        plot.addItem(pg.InfiniteLine(1.0, angle=0, pen=pg.mkPen(self.theme.axis, width=1)))
        for place, one in enumerate(self.visits):
            self._points(place, one)
            self._box(place, one)
        plot.addItem(self._marks)
        self._mark_current()
        plot.setXRange(-0.6, max(0.6, len(self.visits) - 0.4), padding=0)

    def _across(self, place: int, count: int) -> np.ndarray:
        """The x of a visit's points: spread evenly, the same at every drawing."""
        return place + SPREAD * (2 * ((np.arange(count) * GOLDEN) % 1.0) - 1)

    def _points(self, place: int, one: VisitRatios) -> None:
        count = len(one.ratios)
        chosen = np.arange(0, count, max(1, count // MOST_POINTS))
        faint = QColor(self.theme.subtle)
        faint.setAlphaF(0.45)
        dots = pg.ScatterPlotItem(
            x=self._across(place, count)[chosen],
            y=one.ratios[chosen],
            size=5,
            pen=pg.mkPen(None),
            brush=pg.mkBrush(faint),
            data=[one.trace_ids[i] for i in chosen],
        )
        dots.sigClicked.connect(self._clicked)
        self.getPlotItem().addItem(dots)

    def _mark_current(self) -> None:
        """A diamond on each trace of the current string."""
        self._marked = self._current
        x: list[float] = []
        y: list[float] = []
        for place, one in enumerate(self.visits):
            mine = [one.places[name] for name in self._current if name in one.places]
            across = self._across(place, len(one.ratios))
            x += [float(across[i]) for i in mine]
            y += [float(one.ratios[i]) for i in mine]
        pen, brush = pg.mkPen(self.theme.text), pg.mkBrush(self.theme.accent)
        self._marks.setData(x=x, y=y, size=12, symbol="d", pen=pen, brush=brush)

    def _clicked(self, _: object, spots: Sequence[Any], __: object = None) -> None:
        if len(spots):
            self.picked.emit(spots[0].data())

    def _box(self, place: int, one: VisitRatios) -> None:
        numbers = box_numbers(one.ratios)
        if numbers is None:
            return
        half = SPREAD + 0.06
        left, right = place - half, place + half
        low, high = numbers.quarter, numbers.three_quarters
        pen = pg.mkPen(self.theme.text, width=1.2)
        plot = self.getPlotItem()
        frame_x = np.array([left, right, right, left, left])
        frame_y = np.array([low, low, high, high, low])
        plot.plot(frame_x, frame_y, pen=pen)
        for ends in ((numbers.low, low), (high, numbers.high)):
            plot.plot(np.array([place, place]), np.array(ends), pen=pen)
        middle = np.array([numbers.median, numbers.median])
        plot.plot(np.array([left, right]), middle, pen=pg.mkPen(self.theme.text, width=3))


class HistoryPlot(SmallPlot):
    """A string's key point at STC over the visits, with its uncertainty; repairs as lines."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setAccessibleName("The string's key point at STC over the visits")
        self._shown: tuple[History, StringRates | None] | None = None

    def show_history(self, history: History | None, rates: StringRates | None) -> None:
        self._shown = None if history is None else (history, rates)
        self.draw_later()

    def draw(self) -> None:
        plot = self.getPlotItem()
        plot.clear()
        if self._shown is None or not self._shown[0].points:
            plot.getAxis("bottom").setTicks([[]])
            plot.setLabel("left", "")
            return
        history, rates = self._shown
        name = quantity(history.quantity)
        plot.setLabel("left", f"{name.label} at STC" + (f" ({name.unit})" if name.unit else ""))
        x = np.array([one.years for one in history.points])
        y = np.array([one.value for one in history.points])
        bar = np.array([one.expanded for one in history.points])
        pen = pg.mkPen(self.theme.accent, width=1.5)
        span = max(float(np.ptp(x)), 1.0)
        plot.addItem(pg.ErrorBarItem(x=x, y=y, height=2 * bar, beam=0.03 * span, pen=pen))
        plot.plot(
            x, y, pen=None, symbol="o", symbolSize=9,
            symbolBrush=self.theme.accent, symbolPen=pg.mkPen(self.theme.text),
        )  # fmt: skip
        if rates is not None and history.quantity in rates.rates:
            self._line(x, y, rates.rates[history.quantity].value)
        self._repairs(history, float((y - bar).min()), float((y + bar).max()))
        labels = [(one.years, f"{one.measured_on:%Y-%m}") for one in history.points]
        plot.getAxis("bottom").setTicks([apart(labels, 0.3 * span)])
        plot.setXRange(float(x.min()) - 0.2 * span, float(x.max()) + 0.2 * span, padding=0)
        room = 0.15 * float((y + bar).max() - (y - bar).min())
        plot.setYRange(float((y - bar).min()) - room, float((y + bar).max()) + room, padding=0)

    def _line(self, x: np.ndarray, y: np.ndarray, rate: float) -> None:
        """The rate as a line through the points' middle."""
        start = float(np.mean(y)) / (1 + rate / 100 * (float(np.mean(x)) - float(x.min())))
        ends = np.array([x.min(), x.max()])
        values = start * (1 + rate / 100 * (ends - x.min()))
        pen = pg.mkPen(self.theme.subtle, width=1.5, style=Qt.PenStyle.DashLine)
        self.getPlotItem().plot(ends, values, pen=pen)

    def _repairs(self, history: History, low: float, high: float) -> None:
        for years, words in history.repairs:
            pen = pg.mkPen(self.theme.level_unsure, width=2, style=Qt.PenStyle.DotLine)
            line = pg.InfiniteLine(
                years, angle=90, pen=pen, label="repaired",
                labelOpts={"position": 0.92, "color": self.theme.level_unsure},
            )  # fmt: skip
            line.setToolTip(words)
            self.getPlotItem().addItem(line)


def apart(labels: list[tuple[float, str]], least: float) -> list[tuple[float, str]]:
    """Labels of an axis without those that would run into the one before."""
    kept: list[tuple[float, str]] = []
    for place, text in sorted(labels):
        if not kept or place - kept[-1][0] >= least:
            kept.append((place, text))
    return kept

"""Draws a curve figure on the screen: stacked panels with one x axis, items reused."""

import numpy as np
import pyqtgraph as pg
from PySide6.QtCore import Signal
from PySide6.QtGui import QPen
from PySide6.QtWidgets import QWidget

from viewer.reports.curve_figure import CurveFigure, Panel, Series, with_unit
from viewer.reports.curve_styles import STYLES, other_colour
from viewer.state.plot.plot_data import joined
from viewer.widgets.controls.theme import LIGHT, Theme
from viewer.widgets.plot.curve_pens import (
    EMPHASISED_WIDTH,
    GRID,
    LINE_WIDTH,
    measured_pen,
    predicted_pen,
)
from viewer.widgets.plot.curve_picture import CurvePicture, Line
from viewer.widgets.plot.fitting_axis import FittingAxis
from viewer.widgets.plot.number_axis import NumberAxis

SYMBOLS: dict[str, str] = {
    "circle": "o",
    "square": "s",
    "triangle": "t1",
    "diamond": "d",
    "cross": "x",
    "star": "star",
}
MARKERS_ALONG_CURVE = 12
AXIS_WIDTH = 66
HEADROOM = 1.12


class PanelItems:
    """The items of one panel: a picture of all lines and one set of markers a style."""

    def __init__(self, plot: pg.PlotItem) -> None:
        self.plot = plot
        self.picture = CurvePicture()
        plot.addItem(self.picture, ignoreBounds=True)
        self.marks: dict[int, pg.ScatterPlotItem] = {}
        self.zero = pg.InfiniteLine(0, angle=0)
        plot.addItem(self.zero, ignoreBounds=True)

    def scatter(self, style: int) -> pg.ScatterPlotItem:
        if style not in self.marks:
            item = pg.ScatterPlotItem(pxMode=True, antialias=True)
            item.setZValue(2)
            self.plot.addItem(item, ignoreBounds=True)
            self.marks[style] = item
        return self.marks[style]


class CurveCanvas(pg.GraphicsLayoutWidget):
    """Shows a CurveFigure. `figure_shown` follows every redraw."""

    figure_shown = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.figure: CurveFigure | None = None
        self.theme: Theme = LIGHT
        self.panels: dict[str, PanelItems] = {}
        self._kept: dict[str, PanelItems] = {}
        self._zoomed = False
        self._sharing = False
        self.ci.layout.setSpacing(4)
        self.ci.layout.setContentsMargins(4, 4, 8, 4)

    def set_theme(self, theme: Theme) -> None:
        self.theme = theme
        self.setBackground(theme.base)
        for items in self.panels.values():
            self._dress_axes(items)
        if self.figure is not None:
            self.show_figure(self.figure)

    def show_figure(self, figure: CurveFigure, fit: bool = False) -> None:
        """Draw the figure; the zoom is kept when the user has chosen one, unless `fit`."""
        self._lay_panels([panel.id for panel in figure.panels])
        self.figure = figure
        for panel in figure.panels:
            self._draw(self.panels[panel.id], panel)
        if fit or not self._zoomed:
            self.fit()
        self.figure_shown.emit()

    def fit(self) -> None:
        """Show every curve whole, from the origin on."""
        self._zoomed = False
        if self.figure is None:
            return
        x_end = 0.0
        for panel in self.figure.panels:
            x_end = max([x_end, *(float(one.x.max()) for one in panel.series if len(one.x))])
        for panel in self.figure.panels:
            low, high = y_range(panel)
            view = self.panels[panel.id].plot.vb
            view.setYRange(low, high, padding=0)
            if x_end > 0:
                view.setXRange(0, x_end * 1.03, padding=0)

    def bring_into_sight(self, x: float) -> None:
        """Where people have zoomed, move the axis along so far that x lies in it."""
        views = [items.plot.vb for items in self.panels.values()]
        if not self._zoomed or not views:
            return
        low, high = views[0].viewRange()[0]
        if not low <= x <= high:
            views[0].setXRange(x - (high - low) / 2, x + (high - low) / 2, padding=0)

    def _lay_panels(self, names: list[str]) -> None:
        """Stack these panels. Those laid away are kept: making one takes longer than drawing it."""
        if list(self.panels) == names:
            return
        self.ci.clear()
        self.panels = {}
        for row, name in enumerate(names):
            items = self._kept.get(name) or self._made(name)
            self.panels[name] = items
            self.ci.addItem(items.plot, row=row, col=0)
            items.plot.getAxis("bottom").setStyle(showValues=row == len(names) - 1)
            self._dress_axes(items)
            self.ci.layout.setRowStretchFactor(row, 5 if name == "iv" else 4)
        self._zoomed = False

    def _made(self, name: str) -> PanelItems:
        axes = {"left": FittingAxis("left"), "bottom": NumberAxis("bottom")}
        plot = pg.PlotItem(enableMenu=False, axisItems=axes)
        plot.hideButtons()
        plot.showGrid(x=True, y=True, alpha=GRID)
        plot.getAxis("left").setWidth(AXIS_WIDTH)
        for side in ("left", "bottom"):
            plot.getAxis(side).setStyle(maxTickLevel=0)
            plot.getAxis(side).enableAutoSIPrefix(False)
        plot.vb.sigXRangeChanged.connect(self._share_x)
        plot.vb.sigRangeChangedManually.connect(self._note_zoom)
        plot.vb.setLimits(minXRange=1e-6, minYRange=1e-9)
        self._kept[name] = PanelItems(plot)
        return self._kept[name]

    def _share_x(self, moved: pg.ViewBox, x_range: tuple[float, float]) -> None:
        """Give every panel the same x range.

        pyqtgraph's own link matches pixels rather than ranges, and shifts the axis of panels
        that have not been laid out yet; the panels here are equally wide, so ranges suffice.
        """
        if self._sharing:
            return
        self._sharing = True
        try:
            for items in self.panels.values():
                if items.plot.vb is not moved:
                    items.plot.vb.setXRange(*x_range, padding=0)
        finally:
            self._sharing = False

    def _note_zoom(self, *_: object) -> None:
        self._zoomed = True

    def _dress_axes(self, items: PanelItems) -> None:
        for side in ("left", "bottom"):
            axis = items.plot.getAxis(side)
            axis.setPen(self.theme.axis)
            axis.setTextPen(self.theme.axis)
        items.zero.setPen(pg.mkPen(self.theme.axis, width=1))

    def _draw(self, items: PanelItems, panel: Panel) -> None:
        plot, dark = items.plot, self.theme.dark
        is_last = self.figure is None or panel is self.figure.panels[-1]
        wordings = (with_unit(one, panel.y_unit) for one in (panel.y_label, *panel.y_shorter))
        plot.getAxis("left").show_words(*wordings)
        _label(plot.getAxis("bottom"), with_unit(panel.x_label, panel.x_unit) if is_last else "")
        items.picture.show_lines(panel_lines(panel, dark))
        spots: dict[int, list[dict[str, object]]] = {}
        for series in panel.series:
            if series.role == "measured" and series.style is not None:
                spots.setdefault(series.style, []).extend(_along(series))
        self._draw_marks(items, panel, spots)

    def _draw_marks(
        self, items: PanelItems, panel: Panel, spots: dict[int, list[dict[str, object]]]
    ) -> None:
        for marks in panel.marks:
            fill = "measured" if marks.measured else "open"
            spots.setdefault(marks.style, []).extend(
                {"pos": (x, y), "size": 11, "fill": fill}
                for x, y in zip(marks.x.tolist(), marks.y.tolist(), strict=True)
                if x == x and y == y
            )
        for style in set(items.marks) | set(spots):
            colour = STYLES[style].colour(self.theme.dark)
            pen = pg.mkPen(colour, width=1.5)
            brushes = {"measured": pg.mkBrush(colour), "open": pg.mkBrush(self.theme.base)}
            symbol = SYMBOLS[STYLES[style].marker]
            items.scatter(style).setData(
                [
                    {
                        "pos": spot["pos"],
                        "size": spot["size"],
                        "pen": pen,
                        "brush": brushes[str(spot["fill"])],
                        "symbol": symbol,
                    }
                    for spot in spots.get(style, ())
                ]
            )


def _label(axis: pg.AxisItem, text: str) -> None:
    """Write beside the axis. pyqtgraph would set and measure the same words anew."""
    if axis.labelText != text:
        axis.setLabel(text)


def y_range(panel: Panel) -> tuple[float, float]:
    """The range that shows all of a panel: from zero on, or about zero for differences."""
    tops = [float(one.y.max()) for one in panel.series if len(one.y)]
    if panel.id == "difference":
        ends = tops + [float(one.y.min()) for one in panel.series if len(one.y)]
        reach = max([abs(end) for end in ends], default=1.0) or 1.0
        return -reach * HEADROOM, reach * HEADROOM
    top = max(tops, default=1.0)
    return (0.0, top * HEADROOM) if top > 0 else (0.0, 1.0)


def panel_lines(panel: Panel, dark: bool) -> list[Line]:
    """The lines of a panel from back to front: the others as one, predictions, measured."""
    x, y, joints = joined([(one.x, one.y) for one in panel.series if one.style is None])
    lines = [Line(x, y, pg.mkPen(other_colour(dark), width=1), smooth=False, joints=joints)]
    styled = [one for one in panel.series if one.style is not None]
    for role in ("predicted", "measured"):
        lines += [Line(one.x, one.y, line_pen(one, dark)) for one in styled if one.role == role]
    return lines


def line_pen(series: Series, dark: bool) -> QPen:
    """The pen of one styled line: a broad pale band for predicted, the pattern for measured."""
    assert series.style is not None
    if series.role == "predicted":
        return predicted_pen(series.style, dark)
    width = EMPHASISED_WIDTH if series.emphasised else LINE_WIDTH
    return measured_pen(series.style, dark, width)


def _along(series: Series) -> list[dict[str, object]]:
    """Small markers on measured points, about evenly spread over the voltage."""
    if not len(series.x):
        return []
    wanted = np.linspace(series.x[0], series.x[-1], 2 * MARKERS_ALONG_CURVE + 1)[1::2]
    places = np.unique(np.searchsorted(series.x, wanted).clip(0, len(series.x) - 1))
    return [
        {"pos": (x, y), "size": 6, "fill": "measured"}
        for x, y in zip(series.x[places].tolist(), series.y[places].tolist(), strict=True)
    ]

"""The plot of a lesson: simulated curves with letters, measured points, and a cursor."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import pyqtgraph as pg
from numpy.typing import NDArray
from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QKeyEvent, QMouseEvent, QPen
from PySide6.QtWidgets import QGraphicsItem, QWidget

from viewer.physics.cell_string.simulate import SimulatedString
from viewer.reports.curve_styles import STYLES
from viewer.widgets.controls.binding import follow
from viewer.widgets.controls.theme import Look
from viewer.widgets.lesson.lesson_size import LessonSize
from viewer.widgets.plot.curve_pens import EMPHASISED_WIDTH, GRID, measured_pen, predicted_pen
from viewer.widgets.plot.drawn_when_seen import DrawnWhenSeen

Array = NDArray[np.float64]

EXPECTED = -1
"""Style of the broad pale band: the healthy string."""
FIRST_TAG, TAG_STEP = 0.16, 0.11
"""Where along the voltage the letters of the curves stand, so that they keep apart."""
HEADROOM = 1.14
LEAST_USED = 0.55
"""An axis is drawn anew when the curves use less of it than this."""
CACHED = QGraphicsItem.CacheMode.DeviceCoordinateCache
"""Axes with their grid are painted once and then copied, while only curves move."""
KEYS = {Qt.Key.Key_Left: -1, Qt.Key.Key_Right: 1, Qt.Key.Key_PageUp: 10, Qt.Key.Key_PageDown: -10}


@dataclass(frozen=True, eq=False)
class ShownCurve:
    """A curve of the lesson; `style` numbers curve_styles.STYLES, or is EXPECTED."""

    voltage: Array
    current: Array
    style: int
    label: str
    tag: str = ""


def expected_curve(healthy: SimulatedString) -> ShownCurve:
    """The healthy string, drawn behind all others."""
    return ShownCurve(healthy.voltage, healthy.current, EXPECTED, "healthy, as predicted")


class LessonPlot(DrawnWhenSeen):
    """`pointed` passes the voltage chosen with the mouse, `stepped` points moved by keys."""

    pointed = Signal(float)
    stepped = Signal(int)

    def __init__(self, look: Look, size: LessonSize, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._look = look
        self._size = size
        self._shown: tuple[ShownCurve, ...] = ()
        self._points: tuple[Array, Array] | None = None
        self._entries: list[tuple[str, int]] = []
        self._lines: list[pg.PlotDataItem] = []
        self._tags: list[pg.TextItem] = []
        self._range = (1.0, 1.0)
        plot = self.getPlotItem()
        plot.showGrid(x=True, y=True, alpha=GRID)
        self.setMouseEnabled(False, False)
        for side in ("left", "bottom"):
            plot.getAxis(side).enableAutoSIPrefix(False)
            plot.getAxis(side).setCacheMode(CACHED)
        self._dots = pg.ScatterPlotItem(pxMode=True, symbol="o")
        self._dots.setZValue(1)
        plot.addItem(self._dots, ignoreBounds=True)
        self._upright = pg.InfiniteLine(angle=90)
        self._level = pg.InfiniteLine(angle=0)
        self._mark = pg.ScatterPlotItem(pxMode=True, symbol="o")
        for item in (self._upright, self._level, self._mark):
            item.setZValue(4)
            item.hide()
            plot.addItem(item, ignoreBounds=True)
        self._legend = plot.addLegend(offset=(1, -1))
        self._legend.anchor((0, 1), (0, 1), offset=(8, -8))
        self._points_at_mouse = False
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setMinimumSize(220, 140)
        follow(self, look.theme.changed, self._look_changed)
        follow(self, size.big.changed, self._look_changed)
        self.draw_later()

    def with_cursor(self) -> "LessonPlot":
        """Let the mouse and the arrow keys point at the curve."""
        self._points_at_mouse = True
        self.setCursor(Qt.CursorShape.CrossCursor)
        self.setToolTip(
            "Click or drag to move the cursor; the arrow keys and Page Up, Page Down move it too"
        )
        return self

    def show_curves(
        self,
        curves: Sequence[ShownCurve],
        points: tuple[Array, Array] | None = None,
        room: tuple[float, float] = (0.0, 0.0),
    ) -> None:
        """Draw the curves in order; `points` are measured voltage and current.

        `room` is voltage and current that the axes reach at least, so that they stay at rest.
        """
        self._shown = tuple(curves)
        self._points = points
        while len(self._lines) < len(self._shown):
            line = pg.PlotDataItem(antialias=True)
            self.addItem(line, ignoreBounds=True)
            self._lines.append(line)
            tag = pg.TextItem(anchor=(0.5, 1.0))
            tag.setZValue(3)
            self.addItem(tag, ignoreBounds=True)
            self._tags.append(tag)
        for line, tag in list(zip(self._lines, self._tags, strict=True))[len(self._shown) :]:
            line.setData([], [])
            tag.hide()
        for place, curve in enumerate(self._shown):
            self._lines[place].setData(curve.voltage, curve.current)
            self._place_tag(place, curve)
        self._dots.setData(*(points if points is not None else ([], [])))
        entries = [(one.label, one.style) for one in self._shown]
        entries += [("points as recorded", len(STYLES))] if points is not None else []
        if entries != self._entries:
            self._entries = entries
            self._dress_curves()
        self._fit(room)

    def _place_tag(self, place: int, curve: ShownCurve) -> None:
        tag = self._tags[place]
        tag.setVisible(bool(curve.tag))
        if curve.tag:
            at = float(curve.voltage[-1]) * (FIRST_TAG + TAG_STEP * max(curve.style, 0))
            tag.setPos(at, float(np.interp(at, curve.voltage, curve.current)))

    def _fit(self, room: tuple[float, float]) -> None:
        """Show everything from the origin on, the axes at rest while a slider moves the curve."""
        curves = [(one.voltage, one.current) for one in self._shown]
        curves += [self._points] if self._points is not None else []
        if not curves:
            return
        right = max(room[0], *(float(voltage.max()) for voltage, _ in curves))
        top = max(room[1], *(float(current.max()) for _, current in curves))
        wanted = (
            _settled(self._range[0], _tidy(right * 1.03)),
            _settled(self._range[1], _tidy(top * HEADROOM)),
        )
        if wanted != self._range:
            self._range = wanted
            self.setXRange(0, wanted[0], padding=0)
            self.setYRange(0, wanted[1], padding=0)

    def show_cursor(self, voltage: float, current: float) -> None:
        self._upright.setPos(voltage)
        self._level.setPos(current)
        self._mark.setData([voltage], [current])
        for item in (self._upright, self._level, self._mark):
            item.show()

    def _look_changed(self, *_: object) -> None:
        self.draw_later()

    def draw(self) -> None:
        """Colours, letters and widths; the curves themselves are drawn as they come."""
        theme, scale = self._look.theme.value, self._size.scale
        self.setBackground(theme.base)
        font = self._size.font()
        for side, title in (("left", "Current (A)"), ("bottom", "Voltage (V)")):
            axis = self.getAxis(side)
            axis.setPen(theme.axis)
            axis.setTextPen(theme.axis)
            axis.setStyle(maxTickLevel=0, tickFont=font)
            axis.setLabel(title, **{"font-size": f"{font.pointSizeF():.1f}pt"})
        self.getAxis("left").setWidth(round(58 * scale))
        for line in (self._upright, self._level):
            line.setPen(pg.mkPen(theme.text, width=scale, style=Qt.PenStyle.DashLine))
        self._mark.setSize(round(11 * scale))
        self._mark.setPen(pg.mkPen(theme.text, width=2 * scale))
        self._mark.setBrush(pg.mkBrush(theme.base))
        self._dots.setSize(round(5 * scale))
        self._dots.setPen(pg.mkPen(theme.text, width=scale))
        self._dots.setBrush(pg.mkBrush(theme.base))
        self._dress_curves()

    def _dress_curves(self) -> None:
        theme = self._look.theme.value
        for line, tag, curve in zip(self._lines, self._tags, self._shown, strict=False):
            line.setPen(curve_pen(curve.style, theme.dark, self._size.scale))
            if curve.tag:
                font = self._size.font()
                font.setBold(True)
                tag.setFont(font)
                tag.setText(curve.tag, color=STYLES[curve.style].colour(theme.dark))
        self._legend.clear()
        self._legend.setLabelTextSize(f"{self._size.font().pointSizeF():.1f}pt")
        self._legend.setLabelTextColor(theme.text)
        for line, curve in zip(self._lines, self._shown, strict=False):
            self._legend.addItem(line, f"{curve.tag}  {curve.label}" if curve.tag else curve.label)
        if self._points is not None:
            self._legend.addItem(self._dots, "points as recorded")

    def mousePressEvent(self, event: QMouseEvent) -> None:
        super().mousePressEvent(event)
        self._point_at(event)

    def mouseMoveEvent(self, event: QMouseEvent) -> None:
        super().mouseMoveEvent(event)
        if event.buttons() & Qt.MouseButton.LeftButton:
            self._point_at(event)

    def _point_at(self, event: QMouseEvent) -> None:
        if self._points_at_mouse and event.button() in (
            Qt.MouseButton.LeftButton,
            Qt.MouseButton.NoButton,
        ):
            place = self.getViewBox().mapSceneToView(self.mapToScene(event.position().toPoint()))
            self.pointed.emit(float(place.x()))

    def keyPressEvent(self, event: QKeyEvent) -> None:
        step = KEYS.get(Qt.Key(event.key()))
        if step is None or not self._points_at_mouse:
            super().keyPressEvent(event)
        else:
            self.stepped.emit(step)


def curve_pen(style: int, dark: bool, scale: float) -> QPen:
    """The pen of a lesson's curve: colour and pattern, or the band of the healthy string."""
    if style == EXPECTED:
        return predicted_pen(0, dark, scale)
    return measured_pen(style, dark, EMPHASISED_WIDTH * scale)


def _settled(now: float, wanted: float) -> float:
    """The end of an axis as it is, unless the curves leave it or leave too much of it empty."""
    return now if LEAST_USED * now <= wanted <= now else wanted


def _tidy(value: float) -> float:
    """A little above the value in few steps, so that the axis does not tremble with a slider."""
    if not value > 0:
        return 1.0
    step = 10.0 ** np.floor(np.log10(value)) / 10
    return float(np.ceil(value / step) * step)

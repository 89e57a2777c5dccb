"""The legend above the plot: a sample of each line, its string's name, and what bands mean."""

from collections.abc import Collection

import pyqtgraph as pg
from PySide6.QtCore import QPointF, QRect, QRectF, QSize, Qt
from PySide6.QtGui import QColor, QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QSizePolicy, QWidget

from viewer.physics.nomenclature import counted
from viewer.reports.curve_figure import CurveFigure, Series
from viewer.reports.curve_styles import STYLES, other_colour
from viewer.widgets.controls.theme import LIGHT, MEDIUM, SMALL, Theme
from viewer.widgets.plot.band_layer import band_colour
from viewer.widgets.plot.curve_canvas import SYMBOLS, line_pen
from viewer.widgets.plot.curve_pens import BAND_WIDTH

SAMPLE = 34


class CurveLegend(QWidget):
    """Entries flow from left to right and wrap; the height follows the width."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._theme: Theme = LIGHT
        self._series: list[Series] = []
        self._others: list[str] = []
        self._predicted = ""
        self._band = False
        self._pinned: frozenset[str] = frozenset()
        policy = QSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        policy.setHeightForWidth(True)
        self.setSizePolicy(policy)
        self.setAccessibleName("Legend of the curves")
        self.setToolTip(
            "Filled marks: Isc, maximum power point and Voc as measured; open marks: as predicted"
        )

    def set_theme(self, theme: Theme) -> None:
        self._theme = theme
        self.update()

    def show_figure(self, figure: CurveFigure, pinned: Collection[str] = ()) -> None:
        """Name the curves of a figure; `pinned` holds the ids of the traces that stay on it."""
        self._pinned = frozenset(pinned)
        series = figure.panels[0].series if figure.panels else ()
        self._series = [one for one in series if one.role == "measured"]
        self._others = [one.trace_id for one in series if one.role == "other"]
        there = any(one.role == "predicted" for one in series)
        self._predicted = figure.predicted if there else ""
        self._changed()

    def show_band(self, shown: bool) -> None:
        """Name the band of uncertainty around the prediction while there is one."""
        if shown != self._band:
            self._band = shown
            self._changed()

    def _changed(self) -> None:
        self.setAccessibleDescription(", ".join(text for text, _ in self.entries()))
        self.updateGeometry()
        self.update()

    def entries(self) -> list[tuple[str, Series | str]]:
        """Text and kind of each entry, in order."""
        pinned = self._pinned
        found: list[tuple[str, Series | str]] = [
            (f"{one.label}, pinned" if one.trace_id in pinned else one.label, one)
            for one in self._series
        ]
        if self._others:
            kept = len(pinned.intersection(self._others))
            text = counted(len(self._others), "other")
            found.append((f"{text}, {kept} of them pinned" if kept else text, "others"))
        if self._predicted:
            found.append((f"{self._predicted} (its marks open)", "predicted"))
        if self._band:
            found.append(("its uncertainty (k = 2)", "band"))
        return found

    def _places(self, width: int) -> list[QRect]:
        metrics = self.fontMetrics()
        height = metrics.height() + SMALL
        x = y = 0
        places: list[QRect] = []
        for text, _ in self.entries():
            wide = SAMPLE + SMALL + MEDIUM + metrics.horizontalAdvance(text) + 2 * MEDIUM
            if x and x + wide > width:
                x, y = 0, y + height
            places.append(QRect(x, y, wide, height))
            x += wide
        return places

    def heightForWidth(self, width: int) -> int:
        places = self._places(width)
        line = self.fontMetrics().height() + SMALL
        return max([line, *(place.bottom() + 1 for place in places)])

    def sizeHint(self) -> QSize:
        return QSize(300, self.heightForWidth(max(self.width(), 300)))

    def minimumSizeHint(self) -> QSize:
        return QSize(120, self.heightForWidth(max(self.width(), 120)))

    def paintEvent(self, _: QPaintEvent) -> None:
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        for (text, kind), place in zip(self.entries(), self._places(self.width()), strict=True):
            left = place.left() + SMALL
            self._sample(painter, kind, left, place.center().y() + 0.5)
            left += SAMPLE + MEDIUM
            painter.setPen(QColor(self._theme.text))
            box = QRect(left, place.top(), place.right() - left, place.height())
            painter.drawText(box, int(Qt.AlignmentFlag.AlignVCenter), text)
        painter.end()

    def _sample(self, painter: QPainter, kind: Series | str, left: float, y: float) -> None:
        dark = self._theme.dark
        ends = QPointF(left, y), QPointF(left + SAMPLE, y)
        if kind == "band":
            high = self.fontMetrics().height() - SMALL
            box = QRectF(left, y - high / 2, SAMPLE, high)
            painter.fillRect(box, band_colour(self._theme))
            return
        if isinstance(kind, str):
            colour = QColor(other_colour(dark))
            if kind == "predicted":
                colour.setAlphaF(0.5)
            painter.setPen(QPen(colour, BAND_WIDTH if kind == "predicted" else 1.0))
            painter.drawLine(*ends)
            return
        assert kind.style is not None
        painter.setPen(line_pen(kind, dark))
        painter.drawLine(*ends)
        style = STYLES[kind.style]
        painter.save()
        painter.translate(left + SAMPLE / 2, y)
        painter.scale(8, 8)
        painter.setPen(Qt.PenStyle.NoPen)
        painter.setBrush(QColor(style.colour(dark)))
        painter.drawPath(pg.graphicsItems.ScatterPlotItem.Symbols[SYMBOLS[style.marker]])
        painter.restore()

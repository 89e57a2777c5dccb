"""Draws on the curves what the chosen finding is about: a stretch, a plateau or a gap."""

import numpy as np
import pyqtgraph as pg
from PySide6.QtCore import QObject, Qt
from PySide6.QtGui import QColor

from viewer.state.plot.highlight import Highlight
from viewer.state.session import Session
from viewer.widgets.controls.binding import follow
from viewer.widgets.controls.theme import Look
from viewer.widgets.plot.curve_canvas import CurveCanvas

PANEL, FORM = "iv", "measured"
OPACITY = 46


class HighlightLayer(QObject):
    """Follows the canvas and the session's highlights; only curves as measured carry them."""

    def __init__(self, canvas: CurveCanvas, session: Session, look: Look) -> None:
        super().__init__(canvas)
        self._canvas = canvas
        self._session = session
        self._look = look
        self._plot: pg.PlotItem | None = None
        self.items: list[pg.GraphicsObject] = []
        canvas.figure_shown.connect(self.draw)
        follow(self, session.choices.highlights.changed, self.draw)

    def draw(self, *_: object) -> None:
        if self._plot is not None:
            for item in self.items:
                self._plot.removeItem(item)
        self.items = []
        panel = self._canvas.panels.get(PANEL)
        self._plot = panel.plot if panel is not None else None
        trace_id, highlights = self._session.choices.highlights.value
        right_one = trace_id is not None and trace_id == self._session.selection.current
        if self._plot is None or not right_one or self._session.choices.form.value != FORM:
            return
        for one in highlights:
            for item in self._items(one):
                self._plot.addItem(item, ignoreBounds=True)
                self.items.append(item)

    def _items(self, one: Highlight) -> list[pg.GraphicsObject]:
        colour = QColor(self._look.theme.value.level_short)
        pale = QColor(colour)
        pale.setAlpha(OPACITY)
        line = pg.mkPen(colour, width=3)
        band = pg.LinearRegionItem((one.start, one.end), brush=pale, movable=False)
        for edge in band.lines:
            edge.setPen(pg.mkPen(colour, width=1, style=Qt.PenStyle.DashLine))
        band.setZValue(-8)
        items: list[pg.GraphicsObject] = [band]
        if one.level is not None:
            items.append(pg.PlotCurveItem([one.start, one.end], [one.level] * 2, pen=line))
        if one.gap is not None:
            ends = np.array(one.gap)
            items.append(pg.PlotCurveItem(ends[:, 0], ends[:, 1], pen=line))
            spots = pg.ScatterPlotItem(ends[:, 0], ends[:, 1], symbol="d", size=9)
            spots.setBrush(colour)
            spots.setPen(pg.mkPen(colour))
            items.append(spots)
        items.append(self._words(one, colour))
        for item in items[1:]:
            item.setZValue(5)
        return items

    def _words(self, one: Highlight, colour: QColor) -> pg.TextItem:
        theme = self._look.theme.value
        words = pg.TextItem(one.words, color=theme.text, anchor=(1, 1), fill=theme.base)
        words.border = pg.mkPen(colour)
        result = self._session.current
        top = result.measured.i_sc if result is not None else 0.0
        if one.level is not None:
            words.setPos(one.start, one.level)
        elif one.gap is not None and one.kind == "low_current":
            words.setAnchor((0, 0))
            words.setPos(one.gap[0][0], 0.9 * min(one.gap[0][1], one.gap[1][1]))
        else:
            words.setPos(one.start if one.start > 0 else one.end, 0.3 * top)
        return words

"""Draws the uncertainty (k = 2) of the current string's prediction as a band behind the curves."""

import pyqtgraph as pg
from PySide6.QtCore import QObject, Signal
from PySide6.QtGui import QColor

from viewer.state.plot.prediction_bands import PredictionBands
from viewer.state.session import Session
from viewer.widgets.controls.theme import Look, Theme
from viewer.widgets.plot.curve_canvas import CurveCanvas

PANEL = "iv"
FORM = "measured"
BEHIND = -10
OPACITY = 38


def band_colour(theme: Theme) -> QColor:
    colour = QColor(theme.axis)
    colour.setAlpha(OPACITY)
    return colour


class BandLayer(QObject):
    """Follows every redraw of the canvas; only curves as measured have a band."""

    drawn = Signal(bool)
    """Whether there is a band now."""

    def __init__(self, canvas: CurveCanvas, session: Session, look: Look) -> None:
        super().__init__(canvas)
        self._canvas = canvas
        self._session = session
        self._look = look
        self._bands = PredictionBands()
        self.low = pg.PlotCurveItem(pen=None)
        self.high = pg.PlotCurveItem(pen=None)
        self.fill = pg.FillBetweenItem(self.low, self.high)
        self.fill.setZValue(BEHIND)
        self._plot: pg.PlotItem | None = None
        canvas.figure_shown.connect(self.draw)

    def draw(self) -> None:
        """Lay the band into the panel of current over voltage, or take it away."""
        panel = self._canvas.panels.get(PANEL)
        self._move_to(panel.plot if panel is not None else None)
        result = self._session.current
        band = None
        if self._plot is not None and result and self._session.choices.form.value == FORM:
            band = self._bands.of(result, self._session.layout, self._session.inputs.uncertainties)
        if band is None:
            self.fill.setVisible(False)
            self.drawn.emit(False)
            return
        self.low.setData(band.voltage, band.low)
        self.high.setData(band.voltage, band.high)
        self.fill.setBrush(band_colour(self._look.theme.value))
        self.fill.setVisible(True)
        self.drawn.emit(True)

    def _move_to(self, plot: pg.PlotItem | None) -> None:
        if plot is self._plot:
            return
        if self._plot is not None:
            self._plot.removeItem(self.fill)
        if plot is not None:
            plot.addItem(self.fill, ignoreBounds=True)
        self._plot = plot

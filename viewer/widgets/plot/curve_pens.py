"""How a curve is drawn, on the site's plot as on the lesson's: the band, the patterns, the grid."""

import pyqtgraph as pg
from PySide6.QtCore import Qt
from PySide6.QtGui import QColor, QPen

from viewer.reports.curve_styles import STYLES

BAND_WIDTH = 6.0
LINE_WIDTH, EMPHASISED_WIDTH = 1.5, 2.2
GRID = 0.18
"""Opacity of the grid's lines."""


def predicted_pen(style: int, dark: bool, scale: float = 1.0) -> QPen:
    """The broad pale band of what is predicted; `style` numbers curve_styles.STYLES."""
    colour = QColor(STYLES[style].colour(dark))
    colour.setAlphaF(0.35 if dark else 0.28)
    return pg.mkPen(colour, width=BAND_WIDTH * scale)


def measured_pen(style: int, dark: bool, width: float) -> QPen:
    """The colour and the pattern of a curve."""
    chosen = STYLES[style]
    pen = pg.mkPen(chosen.colour(dark), width=width)
    if chosen.dashes:
        pen.setStyle(Qt.PenStyle.CustomDashLine)
        pen.setDashPattern(list(chosen.dashes))
    return pen

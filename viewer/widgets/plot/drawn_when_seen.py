"""A plot that is drawn anew when it is about to be painted: unseen ones cost nothing, and what is
asked of one several times in a row is done once."""

import pyqtgraph as pg
from PySide6.QtWidgets import QWidget

from viewer.widgets.plot.number_axis import number_axes


class DrawnWhenSeen(pg.PlotWidget):
    """A subclass says in `draw` what is drawn and calls `draw_later` when it has changed.

    It has no menu and no buttons: nobody sees them, and they are a third of what it takes to make
    a plot.
    """

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent, enableMenu=False, axisItems=number_axes())
        self.hideButtons()
        self._stale = False
        self.scene().sigPrepareForPaint.connect(self.draw_now)

    def draw(self) -> None:
        """Bring what is drawn up to date."""

    def draw_later(self) -> None:
        if not self._stale:
            self._stale = True
            self.viewport().update()

    def draw_now(self) -> None:
        """Draw if something has changed since it was last drawn."""
        if self._stale:
            self._stale = False
            self.draw()

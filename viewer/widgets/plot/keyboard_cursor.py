"""The crosshair by keyboard: from point to point of the current curve."""

from PySide6.QtCore import QEvent, QObject, Qt, Signal
from PySide6.QtGui import QKeyEvent

from viewer.reports.annotation import measured_series
from viewer.reports.curve_figure import Series
from viewer.state.session import Session
from viewer.widgets.plot.crosshair import Crosshair, Reading
from viewer.widgets.plot.curve_canvas import CurveCanvas

STEPS: dict[Qt.Key, int] = {
    Qt.Key.Key_Left: -1,
    Qt.Key.Key_Right: 1,
    Qt.Key.Key_Down: -1,
    Qt.Key.Key_Up: 1,
    Qt.Key.Key_PageDown: -10,
    Qt.Key.Key_PageUp: 10,
}
"""Points along the curve towards higher voltage."""
ENDS = (Qt.Key.Key_Home, Qt.Key.Key_End)
PLAIN = (Qt.KeyboardModifier.NoModifier, Qt.KeyboardModifier.KeypadModifier)


class KeyboardCursor(QObject):
    """Takes the keys that the canvas is sent. The mouse on the curves takes the crosshair over."""

    stepped = Signal(object, int, int)
    """A Reading, the point's number from 1 on, and how many there are."""
    left = Signal()
    """The cursor is gone."""

    def __init__(self, canvas: CurveCanvas, crosshair: Crosshair, session: Session) -> None:
        super().__init__(canvas)
        self._canvas = canvas
        self._crosshair = crosshair
        self._session = session
        self._at: tuple[str, int, int] | None = None
        """Trace, place of the point and how many there are."""
        self._stepping = False
        crosshair.read.connect(self._read)
        canvas.installEventFilter(self)

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        if event.type() != QEvent.Type.KeyPress or not isinstance(event, QKeyEvent):
            return False
        key = Qt.Key(event.key())
        if event.modifiers() not in PLAIN or (key not in STEPS and key not in ENDS):
            return False
        return self._step(key)

    def _step(self, key: Qt.Key) -> bool:
        """Whether there is a curve to step along."""
        series = self._series()
        if series is None:
            return False
        last = len(series.x) - 1
        if key in ENDS:
            place = 0 if key == ENDS[0] else last
        elif self._at is None or self._at[0] != series.trace_id:
            place = -1 + STEPS[key] if STEPS[key] > 0 else last + 1 + STEPS[key]
        else:
            place = self._at[1] + STEPS[key]
        self._at = series.trace_id, min(max(place, 0), last), last + 1
        self._show(series)
        return True

    def show_again(self) -> None:
        """After the figure was drawn anew: at the same point, or not at all on another curve."""
        series = self._series()
        if self._at is None:
            return
        if series is None or self._at[::2] != (series.trace_id, len(series.x)):
            self._crosshair.hide()
        else:
            self._show(series)

    def _show(self, series: Series) -> None:
        assert self._at is not None
        _, place, count = self._at
        x = float(series.x[place])
        self._canvas.bring_into_sight(x)
        self._stepping = True
        try:
            reading = self._crosshair.show(series, x)
        finally:
            self._stepping = False
        if reading is not None:
            self.stepped.emit(reading, place + 1, count)

    def _read(self, _: Reading | None) -> None:
        """The mouse has moved the crosshair, or it was hidden."""
        if self._at is not None and not self._stepping:
            self._at = None
            self.left.emit()

    def _series(self) -> Series | None:
        """The current trace's measured curve in the first panel that has it."""
        figure, current = self._canvas.figure, self._session.selection.current
        if figure is None or current is None:
            return None
        for panel in figure.panels:
            series = measured_series(figure, panel.id, current)
            if series is not None and len(series.x):
                return series
        return None

"""An axis whose label is never longer than the axis: of its words, the longest that have room."""

from PySide6.QtGui import QFontMetricsF

from viewer.widgets.plot.number_axis import NumberAxis


class FittingAxis(NumberAxis):
    def __init__(self, orientation: str) -> None:
        self._wordings: tuple[str, ...] = ()
        super().__init__(orientation)

    def show_words(self, *wordings: str) -> None:
        """Ways to write the label, the longest first; what has no room is told by the tooltip."""
        if wordings != self._wordings:
            self._wordings = wordings
            self.resizeEvent()  # pyqtgraph puts a label in the middle of its axis only there

    def resizeEvent(self, event: object = None) -> None:
        self._fit()
        super().resizeEvent(event)

    def _fit(self) -> None:
        if not self._wordings or self.label is None:
            return
        upright = self.orientation in ("left", "right")
        room = self.size().height() if upright else self.size().width()
        metrics = QFontMetricsF(self.label.font())
        fitting = (one for one in self._wordings if metrics.horizontalAdvance(one) <= room)
        words = next(fitting, self._wordings[-1])
        self.setToolTip("" if words == self._wordings[0] else self._wordings[0])
        if words != self.labelText:
            self.setLabel(words)

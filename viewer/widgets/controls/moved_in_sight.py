"""Holds a pane in whatever room there is: where it needs more, people move it into sight."""

from PySide6.QtCore import QEvent, QSize, Qt
from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import QFrame, QScrollArea, QWidget

MOST_ASKED = QSize(500, 190)
"""Room in pixels that a pane may ask of a small window; most need less."""


class MovedInSight(QScrollArea):
    """Without it a dock that is given less than its pane needs cuts off what lies at its edge."""

    def __init__(self, held: QWidget, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setFrameShape(QFrame.Shape.NoFrame)
        self.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self._held = held
        self.setWidget(held)

    def sizeHint(self) -> QSize:
        return self._with_bar(self._held.sizeHint())

    def minimumSizeHint(self) -> QSize:
        return self._with_bar(self._least()).boundedTo(MOST_ASKED)

    def _least(self) -> QSize:
        return self._held.minimumSizeHint().expandedTo(self._held.minimumSize())

    def _with_bar(self, size: QSize) -> QSize:
        """The height of the bar comes on top, so that nothing must be moved upwards, too."""
        if self.width() < self._least().width():
            return size + QSize(0, self.horizontalScrollBar().sizeHint().height())
        return size

    def _fill(self) -> None:
        """Qt's own way would give a pane with words that wrap the height it would like to have."""
        room, least = self.maximumViewportSize(), self._least()
        across, upright = self.horizontalScrollBar(), self.verticalScrollBar()
        if least.width() > room.width():
            room -= QSize(0, across.sizeHint().height())
        if self._wrapped(least, room).height() > room.height():
            room -= QSize(upright.sizeHint().width(), 0)
        least = self._wrapped(least, room)
        self._held.resize(room.expandedTo(least))
        self.updateGeometry()

    def _wrapped(self, least: QSize, room: QSize) -> QSize:
        """With the height that words need which wrap at that width."""
        layout = self._held.layout()
        if layout is None or not layout.hasHeightForWidth():
            return least
        width = max(room.width(), least.width())
        return least.expandedTo(QSize(0, layout.minimumHeightForWidth(width)))

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self._fill()

    def event(self, event: QEvent) -> bool:
        if event.type() == QEvent.Type.LayoutRequest:
            self._fill()
        return super().event(event)

"""A table with the words about it: side by side where there is room, else one above the other."""

from PySide6.QtCore import QSize, Qt
from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import QSplitter, QWidget

WIDE = 1100
"""From this width on both fit side by side."""
SIDE_BY_SIDE, STACKED = (60, 40), (65, 35)
"""Parts of the table and of the words at first; people may pull the handle between them."""
LEAST = QSize(80, 40)
"""Pixels, of what has no least size of its own."""


class TableAndWords(QSplitter):
    def __init__(self, table: QWidget, words: QWidget, parent: QWidget | None = None) -> None:
        super().__init__(Qt.Orientation.Vertical, parent)
        self.setChildrenCollapsible(False)
        self._wide: bool | None = None
        for widget in (table, words):
            widget.setMinimumSize(widget.minimumSize().expandedTo(LEAST))
            self.addWidget(widget)

    def resizeEvent(self, event: QResizeEvent) -> None:
        wide = self.width() >= WIDE
        if wide != self._wide:
            self._wide = wide
            across = Qt.Orientation.Horizontal if wide else Qt.Orientation.Vertical
            self.setOrientation(across)
            room = self.width() if wide else self.height()
            shares = SIDE_BY_SIDE if wide else STACKED
            self.setSizes([round(room * share / 100) for share in shares])
            self.setStretchFactor(0, shares[0])
            self.setStretchFactor(1, shares[1])
        super().resizeEvent(event)

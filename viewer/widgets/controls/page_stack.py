"""Pages in one place, which need no more room than the page in sight."""

from PySide6.QtCore import QSize
from PySide6.QtWidgets import QStackedWidget, QWidget


class PageStack(QStackedWidget):
    """Qt's own needs room for its largest page, seen or not."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.currentChanged.connect(self.updateGeometry)

    def sizeHint(self) -> QSize:
        page = self.currentWidget()
        return super().sizeHint() if page is None else page.sizeHint()

    def minimumSizeHint(self) -> QSize:
        page = self.currentWidget()
        if page is None:
            return super().minimumSizeHint()
        return page.minimumSizeHint().expandedTo(page.minimumSize())

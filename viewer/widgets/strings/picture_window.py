"""One picture as large as its window; the window stays open beside the program's."""

from PySide6.QtCore import QPoint, Qt
from PySide6.QtGui import QKeyEvent, QPainter, QPaintEvent, QPixmap
from PySide6.QtWidgets import QWidget

from viewer.state.site_pictures import Shown
from viewer.widgets.controls.theme import MEDIUM

SIZE = (900, 640)


class PictureWindow(QWidget):
    def __init__(self, parent: QWidget) -> None:
        super().__init__(parent, Qt.WindowType.Window)
        self._words = ""
        self._pixmap = QPixmap()
        self.resize(*SIZE)
        self.setAccessibleName("The chosen picture, large")

    def wait_for(self, title: str, caption: str) -> None:
        """Show the window; the picture follows by `take`."""
        self.setWindowTitle(title)
        self.setAccessibleDescription(f"{title}. {caption}")
        self._pixmap, self._words = QPixmap(), "…"
        self.show()
        self.raise_()
        self.activateWindow()
        self.update()

    def take(self, shown: Shown) -> None:
        self._pixmap.loadFromData(shown.content)
        self._words = shown.said
        self.update()

    def paintEvent(self, event: QPaintEvent) -> None:
        painter = QPainter(self)
        if self._pixmap.isNull():
            painter.drawText(
                self.rect().adjusted(MEDIUM, MEDIUM, -MEDIUM, -MEDIUM),
                int(Qt.AlignmentFlag.AlignCenter | Qt.TextFlag.TextWordWrap),
                self._words,
            )
            return
        ratio = self.devicePixelRatioF()
        fitted = self._pixmap.scaled(
            self.size() * ratio,
            Qt.AspectRatioMode.KeepAspectRatio,
            Qt.TransformationMode.SmoothTransformation,
        )
        fitted.setDevicePixelRatio(ratio)
        size = fitted.deviceIndependentSize()
        place = QPoint(
            int(self.width() - size.width()) // 2, int(self.height() - size.height()) // 2
        )
        painter.drawPixmap(place, fitted)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        if event.key() == Qt.Key.Key_Escape:
            self.close()
        else:
            super().keyPressEvent(event)

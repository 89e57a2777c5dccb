"""A small window from which one path can be dragged, as from a file manager.

Run: `python -m tests.real_window.drag_source PATH X Y`. It ends when the path was dropped and says
`taken` if the window below took it, else `refused`.
"""

import sys

from PySide6.QtCore import QMimeData, QPoint, Qt, QTimer, QUrl
from PySide6.QtGui import QDrag, QMouseEvent
from PySide6.QtWidgets import QApplication, QLabel

SIZE = (40, 20)
UNTIL_FETCHED = 1500
"""Milliseconds: the window dropped on fetches what was dropped after the drag has ended."""


class Source(QLabel):
    def __init__(self, path: str) -> None:
        super().__init__("drag")
        self._path = path
        self._from: QPoint | None = None
        self.setWindowTitle("Drag source")
        self.setWindowFlag(Qt.WindowType.WindowStaysOnTopHint)
        self.setFixedSize(*SIZE)

    def mousePressEvent(self, event: QMouseEvent) -> None:
        self._from = event.position().toPoint()

    def mouseMoveEvent(self, event: QMouseEvent) -> None:
        if self._from is None or event.position().toPoint() == self._from:
            return
        self._from = None
        data = QMimeData()
        data.setUrls([QUrl.fromLocalFile(self._path)])
        drag = QDrag(self)
        drag.setMimeData(data)
        done = drag.exec(Qt.DropAction.CopyAction)
        sys.stdout.write("taken\n" if done == Qt.DropAction.CopyAction else "refused\n")
        QTimer.singleShot(UNTIL_FETCHED, QApplication.quit)


def main() -> int:
    application = QApplication(sys.argv[:1])
    source = Source(sys.argv[1])
    source.move(int(sys.argv[2]), int(sys.argv[3]))
    source.show()
    return application.exec()


if __name__ == "__main__":
    sys.exit(main())

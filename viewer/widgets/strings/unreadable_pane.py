"""The files that gave no trace, each with the sentence that says why."""

from PySide6.QtCore import Qt
from PySide6.QtWidgets import (
    QAbstractItemView,
    QHeaderView,
    QLabel,
    QTableWidget,
    QTableWidgetItem,
    QVBoxLayout,
    QWidget,
)

from viewer.state.session import Session
from viewer.widgets.controls.binding import follow
from viewer.widgets.controls.theme import MEDIUM, SMALL, Look


class UnreadablePane(QWidget):
    def __init__(self, session: Session, look: Look, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._session = session
        self.summary = QLabel(self)
        self.summary.setWordWrap(True)
        self.table = QTableWidget(0, 2, self)
        self.table.setHorizontalHeaderLabels(["File", "What is wrong and how to mend it"])
        self.table.setAccessibleName("Files that could not be read")
        self.table.setEditTriggers(QAbstractItemView.EditTrigger.NoEditTriggers)
        self.table.verticalHeader().hide()
        self.table.setWordWrap(True)
        header = self.table.horizontalHeader()
        header.setDefaultAlignment(Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter)
        header.setSectionResizeMode(0, QHeaderView.ResizeMode.ResizeToContents)
        header.setSectionResizeMode(1, QHeaderView.ResizeMode.Stretch)
        self.table.verticalHeader().setSectionResizeMode(QHeaderView.ResizeMode.ResizeToContents)
        column = QVBoxLayout(self)
        column.setContentsMargins(MEDIUM, MEDIUM, MEDIUM, SMALL)
        column.addWidget(self.summary)
        column.addWidget(self.table, 1)
        follow(self, session.opened, self.refill)
        follow(self, session.arrived, self.refill)
        self.refill()

    def refill(self, *_: object) -> None:
        files, remarks = self._session.unreadable, self._session.remarks
        count = len(files)
        text = f"{count} of the files gave no trace."
        if not files:
            opened = self._session.folder is not None
            text = "Every file was read." if opened else "Files that gave no trace, and why."
        self.summary.setText("\n".join([text, *remarks]))
        have = self.table.rowCount()
        if have > count:
            self.table.setRowCount(0)
            have = 0
        self.table.setRowCount(count)
        for row in range(have, count):
            self.table.setItem(row, 0, QTableWidgetItem(files[row].source))
            self.table.setItem(row, 1, QTableWidgetItem(files[row].problem))

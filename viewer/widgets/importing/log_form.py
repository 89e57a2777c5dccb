"""Conditions from a separate log: which file, and how its readings are matched to traces."""

from pathlib import Path

from PySide6.QtCore import Qt
from PySide6.QtWidgets import (
    QCheckBox,
    QFileDialog,
    QFormLayout,
    QHBoxLayout,
    QLabel,
    QLineEdit,
    QPushButton,
    QVBoxLayout,
    QWidget,
)

from viewer.state.importing.import_writing import ImportWriting
from viewer.state.importing.log_joining import LogChoice
from viewer.widgets.controls.binding import follow
from viewer.widgets.controls.number_box import number_box
from viewer.widgets.controls.theme import MEDIUM, SMALL

WORDS = (
    "A table with a time and irradiance, temperatures or wind. Its readings are given to the "
    "traces by their times when the visit folder is written, and its import record says so."
)


class LogForm(QWidget):
    def __init__(self, writing: ImportWriting, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._writing = writing
        self.path = QLineEdit(self)
        self.tolerance = number_box("How far a reading may lie from the trace", "s", 0, 3600, 60, 0)
        self.nearest = QCheckBox("nearest reading, not between two", self)
        self.offset = number_box("Added to the traces' times", "s", -86400, 86400, 0, 1)
        self.estimate = QCheckBox("estimate from the currents", self)
        self.timezone = QLineEdit(self)
        self.replace = QCheckBox("also where the trace's own file gives a reading", self)
        self.test = QPushButton("Try it", self)
        self.said = QLabel(self)
        self._lay_out()
        for box in (self.tolerance, self.offset):
            box.valueChanged.connect(self._entered)
        for tick in (self.nearest, self.estimate, self.replace):
            tick.toggled.connect(self._entered)
        for line in (self.path, self.timezone):
            line.textChanged.connect(self._entered)
        self.test.clicked.connect(writing.try_log)
        follow(self, writing.log_said.changed, self._say)
        self._entered()

    def _lay_out(self) -> None:
        words = QLabel(WORDS, self)
        words.setWordWrap(True)
        self.path.setPlaceholderText("none")
        self.path.setAccessibleName("File of the log")
        self.timezone.setPlaceholderText("Europe/Lisbon, if only one side gives an offset")
        self.timezone.setAccessibleName("Time zone of the times without a UTC offset")
        self.said.setWordWrap(True)
        self.said.setTextInteractionFlags(Qt.TextInteractionFlag.TextSelectableByMouse)
        choose = QPushButton("Choose…", self)
        choose.clicked.connect(self._choose)
        file = QHBoxLayout()
        file.addWidget(self.path, 1)
        file.addWidget(choose)
        clock = QHBoxLayout()
        clock.addWidget(self.offset)
        clock.addWidget(self.estimate)
        clock.addStretch(1)
        form = QFormLayout()
        form.setSpacing(SMALL)
        form.addRow("Log", file)
        form.addRow("Tolerance", self.tolerance)
        form.addRow("", self.nearest)
        form.addRow("Clock offset", clock)
        form.addRow("Time zone", self.timezone)
        form.addRow("Replace", self.replace)
        column = QVBoxLayout(self)
        column.setContentsMargins(MEDIUM, MEDIUM, MEDIUM, MEDIUM)
        column.setSpacing(MEDIUM)
        column.addWidget(words)
        column.addLayout(form)
        column.addWidget(self.test, 0, Qt.AlignmentFlag.AlignLeft)
        column.addWidget(self.said)
        column.addStretch(1)

    def choice(self) -> LogChoice | None:
        """What is entered; None without a file."""
        path = self.path.text().strip()
        if not path:
            return None
        return LogChoice(
            Path(path).expanduser(),
            self.tolerance.value(),
            self.nearest.isChecked(),
            None if self.estimate.isChecked() else self.offset.value(),
            self.timezone.text().strip() or None,
            self.replace.isChecked(),
        )

    def _entered(self, *_: object) -> None:
        self._writing.log.value = self.choice()
        self._writing.log_said.value = ""
        self.offset.setEnabled(not self.estimate.isChecked())
        self.test.setEnabled(self._writing.log.value is not None)

    def _choose(self) -> None:
        chosen, _ = QFileDialog.getOpenFileName(self, "Choose a log", self.path.text())
        if chosen:
            self.path.setText(chosen)

    def _say(self, text: str) -> None:
        self.said.setText(text)

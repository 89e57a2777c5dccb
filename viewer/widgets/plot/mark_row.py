"""The row of tools for marks on the plot: kinds, the words of the chosen one, undo, delete."""

from PySide6.QtCore import QSignalBlocker
from PySide6.QtWidgets import QHBoxLayout, QLineEdit, QToolButton, QWidget

from viewer.reports.annotation import KINDS, TEXT_LIMIT
from viewer.state.session import Session
from viewer.widgets.controls.binding import follow
from viewer.widgets.controls.theme import SMALL

TIPS: dict[str, str] = {
    "text": "Words at a place: press where they begin",
    "arrow": "From the words to a place: drag from the words to what they mean",
    "bracket": "A span of volts: drag from one end to the other; without words it tells its width",
    "region": "Part of the plot: drag from corner to corner",
    "callout": "Words tied to a measured point: drag from the point to where the words shall be",
}


class MarkRow(QWidget):
    def __init__(self, session: Session, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._session = session
        self._marks = session.marks
        self.tools: dict[str, QToolButton] = {}
        row = QHBoxLayout(self)
        row.setContentsMargins(0, 0, 0, 0)
        row.setSpacing(SMALL)
        for kind, (name, _) in KINDS.items():
            button = self._button(name, TIPS[kind])
            button.setCheckable(True)
            button.clicked.connect(lambda on, one=kind: self._choose(one, on))
            self.tools[kind] = button
            row.addWidget(button)
        self.words = QLineEdit(self)
        self.words.setPlaceholderText("Words of the chosen mark")
        self.words.setAccessibleName("Words of the chosen mark")
        self.words.setMaxLength(TEXT_LIMIT)
        self.words.editingFinished.connect(self._said)
        row.addWidget(self.words, 1)
        self.delete = self._button("Delete", "Delete the chosen mark (Del)")
        self.undo = self._button("Undo", "")
        self.redo = self._button("Redo", "")
        self.delete.clicked.connect(lambda: self._marks.remove())
        self.undo.clicked.connect(session.undo)
        self.redo.clicked.connect(session.redo)
        for button in (self.delete, self.undo, self.redo):
            row.addWidget(button)
        for notifier in (self._marks.changed, self._marks.chosen.changed, self._marks.tool.changed):
            follow(self, notifier, self.refresh)
        for notifier in (session.history.changed, session.notes.changed):
            follow(self, notifier, self._name_steps)
        self._name_steps()
        self.refresh()

    def _name_steps(self, *_: object) -> None:
        """What undo and redo would do, whatever was done last."""
        for button, label, words in (
            (self.undo, self._session.undo_label, "Take back"),
            (self.redo, self._session.redo_label, "Do again"),
        ):
            button.setEnabled(label is not None)
            button.setToolTip(f"{words}: {label}" if label else "")

    def _button(self, text: str, tip: str) -> QToolButton:
        button = QToolButton(self)
        button.setText(text)
        button.setToolTip(tip)
        return button

    def _choose(self, kind: str, on: bool) -> None:
        self._marks.tool.value = kind if on else None

    def _said(self) -> None:
        number = self._marks.chosen.value
        if number is not None:
            self._marks.say(number, self.words.text())

    def ask_for_words(self) -> None:
        """Give the keyboard to the words of the mark just placed."""
        self.words.setFocus()
        self.words.selectAll()

    def refresh(self, *_: object) -> None:
        tool = self._marks.tool.value
        for kind, button in self.tools.items():
            button.setChecked(kind == tool)
        placed = self._marks.get(self._marks.chosen.value)
        self.words.setEnabled(placed is not None)
        self.delete.setEnabled(placed is not None)
        words = placed.mark.text if placed is not None else ""
        if self.words.text() != words:
            with QSignalBlocker(self.words):
                self.words.setText(words)

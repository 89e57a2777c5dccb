"""A reading recipe as TOML text, checked as it is typed."""

from PySide6.QtCore import QSignalBlocker, Qt, QTimer
from PySide6.QtGui import QFontDatabase
from PySide6.QtWidgets import QLabel, QPlainTextEdit, QVBoxLayout, QWidget

from viewer.state.importing.import_recipe import ImportRecipe
from viewer.widgets.controls.binding import follow
from viewer.widgets.controls.theme import SMALL, Look

PAUSE = 250
"""Milliseconds without a key before the text is checked."""


class RecipeTextBox(QWidget):
    def __init__(self, recipe: ImportRecipe, look: Look, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._recipe = recipe
        self._look = look
        self.text = QPlainTextEdit(self)
        self.text.setAccessibleName("Reading recipe as TOML")
        self.text.setFont(QFontDatabase.systemFont(QFontDatabase.SystemFont.FixedFont))
        self.text.setLineWrapMode(QPlainTextEdit.LineWrapMode.NoWrap)
        self.problem = QLabel(self)
        self.problem.setWordWrap(True)
        self.problem.setTextInteractionFlags(Qt.TextInteractionFlag.TextSelectableByMouse)
        self._pause = QTimer(self)
        self._pause.setSingleShot(True)
        self._pause.setInterval(PAUSE)
        column = QVBoxLayout(self)
        column.setContentsMargins(SMALL, SMALL, SMALL, SMALL)
        column.setSpacing(SMALL)
        column.addWidget(self.text, 1)
        column.addWidget(self.problem)
        self.text.textChanged.connect(self._pause.start)
        self._pause.timeout.connect(self.check)
        follow(self, recipe.text.changed, self.show_text)
        follow(self, recipe.problem.changed, self.show_problem)
        follow(self, look.theme.changed, self.show_problem)
        self.show_text()
        self.show_problem()

    def check(self) -> None:
        """Use what is typed, or say what is wrong with it."""
        self._pause.stop()
        self._recipe.edit_text(self.text.toPlainText())

    def show_text(self, *_: object) -> None:
        text = self._recipe.text.value
        if self.text.toPlainText() != text:
            with QSignalBlocker(self.text):
                self.text.setPlainText(text)

    def show_problem(self, *_: object) -> None:
        """The first mistake; the others, if any, are counted and in the tool tip."""
        lines = self._recipe.problem.value.split("\n")
        more = f" ({len(lines) - 1} more)" if len(lines) > 1 else ""
        self.problem.setText(lines[0] + more)
        self.problem.setToolTip("\n".join(lines))
        self.problem.setVisible(bool(lines[0]))
        self.problem.setStyleSheet(f"color: {self._look.theme.value.level_short}")

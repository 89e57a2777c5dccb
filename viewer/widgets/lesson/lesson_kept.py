"""The curves kept on a lesson's plot: letter, what they are, and a button to drop each."""

from PySide6.QtWidgets import QHBoxLayout, QLabel, QToolButton, QVBoxLayout, QWidget

from viewer.reports.curve_styles import STYLES
from viewer.state.lesson.lesson import KeptCurve, Lesson
from viewer.widgets.controls.binding import follow
from viewer.widgets.controls.icons import icon
from viewer.widgets.controls.theme import SMALL, Look


class KeptList(QWidget):
    def __init__(self, lesson: Lesson, look: Look, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._lesson = lesson
        self._look = look
        self._column = QVBoxLayout(self)
        self._column.setContentsMargins(0, 0, 0, 0)
        self._column.setSpacing(SMALL)
        follow(self, lesson.kept.changed, self.refill)
        follow(self, look.theme.changed, self.refill)
        self.refill()

    def refill(self, *_: object) -> None:
        while (item := self._column.takeAt(0)) is not None:
            widget = item.widget()
            if widget is not None:
                widget.hide()
                widget.deleteLater()
        for kept in self._lesson.kept.value:
            self._column.addWidget(self._row(kept))
        self.setVisible(bool(self._lesson.kept.value))

    def _row(self, kept: KeptCurve) -> QWidget:
        theme = self._look.theme.value
        row = QWidget(self)
        colour = STYLES[kept.slot + 1].colour(theme.dark)
        letter = QLabel(f'<b style="color: {colour}">{kept.tag}</b>', row)
        words = QLabel(kept.text, row)
        words.setWordWrap(True)
        words.setToolTip(kept.string_title)
        drop = QToolButton(row)
        drop.setAutoRaise(True)
        drop.setIcon(icon("cancel", theme.text))
        drop.setToolTip(f"Take curve {kept.tag} off the plot")
        drop.setAccessibleName(f"Drop curve {kept.tag}")
        drop.clicked.connect(lambda _=False, slot=kept.slot: self._lesson.drop(slot))
        across = QHBoxLayout(row)
        across.setContentsMargins(0, 0, 0, 0)
        across.setSpacing(SMALL)
        across.addWidget(letter)
        across.addWidget(words, 1)
        across.addWidget(drop)
        return row

"""What the middle of the window shows while nothing is open: how to begin."""

from collections.abc import Callable, Sequence
from pathlib import Path

from PySide6.QtCore import Qt
from PySide6.QtWidgets import (
    QFrame,
    QGridLayout,
    QHBoxLayout,
    QLabel,
    QPushButton,
    QScrollArea,
    QSizePolicy,
    QVBoxLayout,
    QWidget,
)

from viewer.state.keeping.what_was_open import WhatWasOpen
from viewer.state.session import Session
from viewer.widgets.controls.binding import follow
from viewer.widgets.controls.theme import LARGE, MEDIUM, SMALL, Look

WIDTH = 640
"""Of the column at most; a narrower window makes it narrower."""

Door = tuple[str, str, Callable[[], object]]
"""A way to begin: title, one line of meaning, and what to do."""


class StartPage(QWidget):
    def __init__(
        self,
        session: Session,
        look: Look,
        doors: Sequence[Door],
        parent: QWidget | None = None,
    ) -> None:
        super().__init__(parent)
        self._session = session
        self._look = look
        self.again = QPushButton(self)
        self.again.clicked.connect(session.open_again)
        self._recent = QVBoxLayout()
        self._recent.setSpacing(SMALL)
        self.problem = QLabel(self)
        self.problem.setWordWrap(True)
        self.problem.setTextInteractionFlags(Qt.TextInteractionFlag.TextSelectableByMouse)
        self._lay_out(doors)
        follow(self, session.settings.changed, self.refill)
        follow(self, session.message.changed, self._show_problem)
        follow(self, session.left_open.changed, self._offer)
        self._offer(session.left_open.value)
        self.refill()

    def _lay_out(self, doors: Sequence[Door]) -> None:
        """A column in the middle, scrolled where the window is too low for it."""
        title = QLabel("Compare measured I-V curves with what the datasheet predicts", self)
        font = title.font()
        font.setPointSizeF(font.pointSizeF() * 1.4)
        title.setFont(font)
        title.setWordWrap(True)
        page = QWidget(self)
        column = QVBoxLayout()
        column.setSpacing(SMALL)
        column.addStretch(1)
        column.addWidget(title)
        column.addSpacing(LARGE)
        column.addLayout(self._doors(doors))
        column.addSpacing(LARGE)
        column.addWidget(self.again)
        column.addLayout(self._recent)
        column.addWidget(self.problem)
        column.addStretch(2)
        frame = QWidget(page)
        frame.setMaximumWidth(WIDTH)
        frame.setLayout(column)
        across = QHBoxLayout(page)
        across.addStretch(1)
        across.addWidget(frame, 100)
        across.addStretch(1)
        area = QScrollArea(self)
        area.setWidget(page)
        area.setWidgetResizable(True)
        area.setFrameShape(QFrame.Shape.NoFrame)
        area.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        area.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        outer = QVBoxLayout(self)
        outer.setContentsMargins(0, 0, 0, 0)
        outer.addWidget(area)

    def _doors(self, doors: Sequence[Door]) -> QGridLayout:
        """A line each: the button and what is behind it."""
        grid = QGridLayout()
        grid.setHorizontalSpacing(LARGE)
        grid.setVerticalSpacing(MEDIUM)
        grid.setColumnStretch(1, 1)
        for row, (name, meaning, act) in enumerate(doors):
            button = QPushButton(name, self)
            button.setMinimumHeight(self.fontMetrics().height() + 2 * MEDIUM)
            button.setAccessibleDescription(meaning)
            button.clicked.connect(lambda _=False, chosen=act: chosen())
            words = QLabel(meaning, self)
            words.setWordWrap(True)
            grid.addWidget(button, row, 0)
            grid.addWidget(words, row, 1)
        return grid

    def _offer(self, left: WhatWasOpen | None) -> None:
        """What was open when the program stopped without ending can be opened again."""
        self.again.setVisible(left is not None)
        if left is not None:
            name = Path(left.folder).name
            self.again.setText(f"Open {name} again, as it was when the program stopped")
            self.again.setToolTip(left.in_words())

    def refill(self, *_: object) -> None:
        """The recent folders that are still there, newest first."""
        while (item := self._recent.takeAt(0)) is not None:
            widget = item.widget()
            if widget is not None:
                widget.deleteLater()
        folders = [one for one in self._session.settings.value.recent_folders if Path(one).exists()]
        if folders:
            self._recent.addWidget(QLabel("Opened before:", self))
        for folder in folders:
            room = WIDTH - 2 * LARGE
            words = self.fontMetrics().elidedText(folder, Qt.TextElideMode.ElideMiddle, room)
            button = QPushButton(words, self)
            button.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Fixed)
            button.setAccessibleName(f"Open {folder}")
            button.setFlat(True)
            button.setStyleSheet("text-align: left; padding: 4px")
            button.setToolTip(f"Open {folder}")
            button.clicked.connect(lambda _=False, path=folder: self._session.open(Path(path)))
            self._recent.addWidget(button)

    def _show_problem(self, text: str) -> None:
        self.problem.setText(text)

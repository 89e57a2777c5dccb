"""What the middle of the window shows while nothing is open: how to begin."""

from collections.abc import Callable
from pathlib import Path

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QHBoxLayout, QLabel, QPushButton, QVBoxLayout, QWidget

from viewer.state.session import Session
from viewer.state.what_was_open import WhatWasOpen
from viewer.widgets.binding import follow
from viewer.widgets.theme import LARGE, MEDIUM, SMALL, Look

WIDTH = 520


class StartPage(QWidget):
    """`doors` are the ways to begin: title, one line of meaning, and what to do."""

    def __init__(
        self,
        session: Session,
        look: Look,
        doors: tuple[tuple[str, str, Callable[[], object]], ...],
        parent: QWidget | None = None,
    ) -> None:
        super().__init__(parent)
        self._session = session
        self._look = look
        self._column = QVBoxLayout()
        self._column.setSpacing(SMALL)
        frame = QWidget(self)
        frame.setFixedWidth(WIDTH)
        frame.setLayout(self._column)
        across = QHBoxLayout()
        across.addStretch(1)
        across.addWidget(frame)
        across.addStretch(1)
        outer = QVBoxLayout(self)
        outer.addStretch(1)
        outer.addLayout(across)
        outer.addStretch(2)
        title = QLabel("Compare measured I-V curves with what the datasheet predicts", self)
        font = title.font()
        font.setPointSizeF(font.pointSizeF() * 1.4)
        title.setFont(font)
        title.setWordWrap(True)
        self._column.addWidget(title)
        self._column.addSpacing(LARGE)
        for name, meaning, act in doors:
            self._add_door(name, meaning, act)
        self._column.addSpacing(LARGE)
        self.again = QPushButton(self)
        self.again.setMinimumHeight(self.fontMetrics().height() + 2 * MEDIUM)
        self.again.clicked.connect(session.open_again)
        self._column.addWidget(self.again)
        self._recent = QVBoxLayout()
        self._recent.setSpacing(SMALL)
        self._column.addLayout(self._recent)
        self.problem = QLabel(self)
        self.problem.setWordWrap(True)
        self.problem.setTextInteractionFlags(Qt.TextInteractionFlag.TextSelectableByMouse)
        self._column.addWidget(self.problem)
        follow(self, session.settings.changed, self.refill)
        follow(self, session.message.changed, self._show_problem)
        follow(self, session.left_open.changed, self._offer)
        self._offer(session.left_open.value)
        self.refill()

    def _offer(self, left: WhatWasOpen | None) -> None:
        """What was open when the program stopped without ending can be opened again."""
        self.again.setVisible(left is not None)
        if left is not None:
            name = Path(left.folder).name
            self.again.setText(f"Open {name} again, as it was when the program stopped")
            self.again.setToolTip(left.in_words())

    def _add_door(self, name: str, meaning: str, act: Callable[[], object]) -> None:
        button = QPushButton(name, self)
        button.setMinimumHeight(self.fontMetrics().height() + 2 * MEDIUM)
        button.clicked.connect(act)
        words = QLabel(meaning, self)
        words.setWordWrap(True)
        words.setIndent(SMALL)
        self._column.addWidget(button)
        self._column.addWidget(words)
        self._column.addSpacing(MEDIUM)

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
            button = QPushButton(folder, self)
            button.setFlat(True)
            button.setStyleSheet("text-align: left; padding: 4px")
            button.setToolTip(f"Open {folder}")
            button.clicked.connect(lambda _=False, path=folder: self._session.open(Path(path)))
            self._recent.addWidget(button)

    def _show_problem(self, text: str) -> None:
        self.problem.setText(text)

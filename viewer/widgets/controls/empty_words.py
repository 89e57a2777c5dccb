"""Words in the middle of a table that has no rows: what will stand there, or why nothing does."""

from collections.abc import Callable

from PySide6.QtCore import QEvent, QObject, Qt
from PySide6.QtWidgets import QAbstractItemView, QLabel

from viewer.widgets.controls.theme import LARGE


class EmptyWords(QLabel):
    """Shown over a view while its model has no rows; `words` is asked each time it empties."""

    def __init__(self, view: QAbstractItemView, words: Callable[[], str]) -> None:
        super().__init__(view.viewport())
        self._view = view
        self._words = words
        self.setWordWrap(True)
        self.setAlignment(Qt.AlignmentFlag.AlignCenter)
        self.setContentsMargins(LARGE, LARGE, LARGE, LARGE)
        self.setForegroundRole(view.foregroundRole())
        self.setAttribute(Qt.WidgetAttribute.WA_TransparentForMouseEvents)
        view.viewport().installEventFilter(self)
        model = view.model()
        for change in (model.modelReset, model.rowsInserted, model.rowsRemoved):
            change.connect(self.renew)
        self.renew()

    def renew(self, *_: object) -> None:
        empty = self._view.model().rowCount() == 0
        if empty:
            self.setText(self._words())
        self.setVisible(empty)
        if empty:
            self.setGeometry(self._view.viewport().rect())

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        if event.type() == QEvent.Type.Resize:
            self.setGeometry(self._view.viewport().rect())
        return False

"""Work on a widget that waits while nobody can see it: hidden, or behind another tab."""

from collections.abc import Callable

from PySide6.QtCore import QEvent, QObject
from PySide6.QtWidgets import QWidget


class WhenSeen(QObject):
    """`ask` has the work done at once where the widget is in sight, else before it next is."""

    def __init__(self, widget: QWidget, work: Callable[[], object]) -> None:
        super().__init__(widget)
        self._widget = widget
        self._work = work
        self._asked = False
        widget.installEventFilter(self)

    def ask(self, *_: object) -> None:
        self._asked = True
        if not self._widget.visibleRegion().isEmpty():
            self._do()

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        if self._asked and event.type() == QEvent.Type.Paint:
            self._do()
        return False

    def _do(self) -> None:
        self._asked = False
        self._work()

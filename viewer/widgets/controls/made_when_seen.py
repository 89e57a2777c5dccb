"""Holds a widget that is made when it is first seen, so that a page nobody opens costs nothing."""

from collections.abc import Callable
from typing import Generic, TypeVar

from PySide6.QtGui import QShowEvent
from PySide6.QtWidgets import QVBoxLayout, QWidget

from viewer.widgets.controls.reachable import make_reachable

Made = TypeVar("Made", bound=QWidget)


class MadeWhenSeen(QWidget, Generic[Made]):
    """`make` is handed this widget as the parent of what it makes."""

    def __init__(self, make: Callable[[QWidget], Made], parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._make = make
        self._held: Made | None = None
        self._column = QVBoxLayout(self)
        self._column.setContentsMargins(0, 0, 0, 0)

    @property
    def held(self) -> Made:
        """What is held here, made now if it was not before."""
        if self._held is None:
            self._held = self._make(self)
            self._column.addWidget(self._held)
            make_reachable(self._held)
        return self._held

    def showEvent(self, event: QShowEvent) -> None:
        self.held.show()
        self._column.activate()
        super().showEvent(event)

"""What the panes about the years share: the rates are computed once somebody looks."""

from PySide6.QtGui import QShowEvent
from PySide6.QtWidgets import QWidget

from viewer.state.session import Session


class YearsWidget(QWidget):
    """A pane of `session.years`; a subclass says in `refill` what it shows of them."""

    def __init__(self, session: Session, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._session = session

    def refill(self, *_: object) -> None:
        """Show what is known now."""

    def showEvent(self, event: QShowEvent) -> None:
        super().showEvent(event)
        self.want()

    def want(self, *_: object) -> None:
        """Have the rates computed, if somebody looks."""
        if self.isVisible():
            self._session.years.ensure()

    def found_changed(self, *_: object) -> None:
        self.refill()
        self.want()

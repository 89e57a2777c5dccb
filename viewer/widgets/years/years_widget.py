"""What the panes about the years share: the rates are computed once somebody looks."""

from PySide6.QtGui import QShowEvent
from PySide6.QtWidgets import QWidget

from viewer.state.session import Session
from viewer.widgets.controls.when_seen import WhenSeen


class YearsWidget(QWidget):
    """A pane of `session.years`; a subclass says in `refill` what it shows of them, and has that
    done by `later.ask`: hidden panes of a large site would take turns of 0.1 s each."""

    def __init__(self, session: Session, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._session = session
        self.later = WhenSeen(self, self.refill)

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
        self.later.ask()
        self.want()

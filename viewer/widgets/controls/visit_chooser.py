"""A box to choose the visit that lists and the heat-grid show."""

from PySide6.QtWidgets import QComboBox, QWidget

from viewer.state.session import Session
from viewer.widgets.controls.binding import ChoiceTie, fill_choices, follow


class VisitChooser(QComboBox):
    def __init__(self, session: Session, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._session = session
        self.setAccessibleName("Visit shown")
        self.setToolTip("The visit whose traces are listed")
        self.setSizeAdjustPolicy(QComboBox.SizeAdjustPolicy.AdjustToContents)
        follow(self, session.opened, self.refill)
        follow(self, session.arrived, self.refill)
        self.refill()
        self._tie = ChoiceTie(self, session.choices.visit)

    def refill(self, *_: object) -> None:
        choices: list[tuple[str, object]] = [("all visits", None)]
        choices += [(visit.name, visit.name) for visit in self._session.visits]
        fill_choices(self, choices, self._session.choices.visit.value)

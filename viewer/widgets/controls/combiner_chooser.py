"""A box to choose the combiner that a pane shows; the one of the current string comes by itself."""

from PySide6.QtWidgets import QComboBox, QWidget

from viewer.state.session import Session
from viewer.widgets.controls.binding import fill_choices, follow


class CombinerChooser(QComboBox):
    """`name` is what a screen reader says."""

    def __init__(self, session: Session, name: str, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._session = session
        self.setAccessibleName(name)
        self.setSizeAdjustPolicy(QComboBox.SizeAdjustPolicy.AdjustToContents)
        self.activated.connect(self._activated)
        follow(self, session.selection.changed, self._follow_current)

    def refill(self) -> str | None:
        """Offer the combiners there are; returns the one to show, the first unless chosen."""
        names = self._session.combiners()
        chosen = self._session.choices.combiner.value
        if chosen not in names:
            chosen = names[0] if names else None
        choices: list[tuple[str, object]] = [(name or "no combiner", name) for name in names]
        fill_choices(self, choices, chosen)
        return chosen

    def _activated(self, place: int) -> None:
        self._session.choices.combiner.value = self.itemData(place)

    def _follow_current(self) -> None:
        """Turn to the combiner of the string that became current elsewhere."""
        current = self._session.current
        if current is not None:
            self._session.choices.combiner.value = current.trace.place[0]

"""Against a visit: what has changed since the baseline, per string and key point."""

from PySide6.QtCore import Qt
from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import (
    QCheckBox,
    QComboBox,
    QHBoxLayout,
    QLabel,
    QPushButton,
    QVBoxLayout,
    QWidget,
)

from viewer.analysis.years.baseline_change import StringChange
from viewer.state.session import Session
from viewer.state.visit_comparison import (
    change_of,
    compared_visits,
    overlay_both,
    string_changes,
    summary,
)
from viewer.widgets.controls.binding import RowTie, fill_choices, follow
from viewer.widgets.controls.plain_rows import LONGEST_NAME, plain_table
from viewer.widgets.controls.theme import MEDIUM, SMALL, Look
from viewer.widgets.years.change_model import COLUMNS, ChangeModel
from viewer.widgets.years.years_widget import YearsWidget

VERDICT = COLUMNS.index("verdict")
SAME_TIP = (
    "The same sensor and the same tracer, not adjusted in between, read both visits alike: what "
    "they share then drops out of the uncertainty. Drift of the sensor is not covered."
)

SAID = 80
"""Pixels of the sentence, there or not yet: a pane must not want more room as it is filled."""


class ChangePane(YearsWidget):
    def __init__(self, session: Session, look: Look, parent: QWidget | None = None) -> None:
        super().__init__(session, parent)
        self.then = QComboBox(self)
        self.now = QComboBox(self)
        self.same = QCheckBox("same instruments", self)
        self.overlay = QPushButton("Overlay both at STC", self)
        self.on_grid = QPushButton("Show in the heat-grid", self)
        self.model = ChangeModel(session, self)
        self.view = plain_table(self.model, "Changes between two visits")
        self.said = QLabel(self)
        self._set_up_view()
        self._lay_out()
        self._tie = RowTie(self.view, session.selection)
        self.then.activated.connect(self._then_chosen)
        self.now.activated.connect(self._now_chosen)
        self.same.toggled.connect(self.later.ask)
        self.overlay.clicked.connect(self._overlay)
        self.on_grid.clicked.connect(self._on_grid)
        for notifier, method in (
            (session.opened, self.later.ask),
            (session.loaded, self.want),
            (session.years.changed, self.found_changed),
            (session.years.baseline.changed, self.later.ask),
            (session.choices.visit.changed, self.later.ask),
            (session.selection.changed, self._selection_changed),
        ):
            follow(self, notifier, method)
        self.later.ask()

    def _set_up_view(self) -> None:
        view = self.view
        header = view.horizontalHeader()
        header.setSortIndicator(COLUMNS.index("p_mp"), Qt.SortOrder.AscendingOrder)
        view.setSortingEnabled(True)
        digit = self.fontMetrics().horizontalAdvance("0")
        for column in range(len(COLUMNS)):
            view.setColumnWidth(column, _digits(column) * digit)

    def resizeEvent(self, event: QResizeEvent) -> None:
        """The words of the last column repeat what the marks say; numbers come first."""
        super().resizeEvent(event)
        self._fit_columns()

    def _fit_columns(self) -> None:
        """The strings' names, which tell rows apart, are whole as far as LONGEST_NAME."""
        digit = self.fontMetrics().horizontalAdvance("0")
        names = (self.model.index(row, 0).data() for row in range(self.model.rowCount()))
        longest = max(names, key=len, default="")[:LONGEST_NAME]
        name = max(_digits(0) * digit, self.fontMetrics().horizontalAdvance(longest) + 3 * SMALL)
        self.view.setColumnWidth(0, name)
        bar = self.view.verticalScrollBar().sizeHint().width()
        needed = name + sum(_digits(place) for place in range(1, len(COLUMNS))) * digit
        self.view.setColumnHidden(VERDICT, self.width() - 3 * MEDIUM - bar < needed)

    def _lay_out(self) -> None:
        self.then.setAccessibleName("Baseline visit")
        self.now.setAccessibleName("Visit compared with the baseline")
        self.same.setToolTip(SAME_TIP)
        self.overlay.setToolTip("Select the current string's traces of both visits, drawn at STC")
        self.on_grid.setToolTip("Colour the heat-grid by the change since the baseline visit")
        self.said.setWordWrap(True)
        self.said.setMinimumWidth(SAID)
        for box in (self.then, self.now):
            box.setSizeAdjustPolicy(QComboBox.SizeAdjustPolicy.AdjustToContents)
        top = QHBoxLayout()
        top.setSpacing(SMALL)
        for widget in (self.now, QLabel("against", self), self.then, self.same):
            top.addWidget(widget)
        top.addStretch(1)
        second = QHBoxLayout()
        second.setSpacing(SMALL)
        second.addWidget(self.said, 1)
        second.addWidget(self.overlay)
        second.addWidget(self.on_grid)
        column = QVBoxLayout(self)
        column.setContentsMargins(MEDIUM, MEDIUM, MEDIUM, SMALL)
        column.setSpacing(SMALL)
        column.addLayout(top)
        column.addWidget(self.view, 1)
        column.addLayout(second)

    def refill(self, *_: object) -> None:
        years = self._session.years.found
        compared = compared_visits(self._session)
        names = years.usable_visits() if years else ()
        fill_choices(self.then, [(name, name) for name in names], compared.then)
        later = [(name, name) for name in names if name != compared.then]
        fill_choices(self.now, later, compared.now)
        if years is None:
            self.model.show_changes(())
            self.said.setText("Changes are computed when all traces have arrived.")
        else:
            changes = string_changes(years, compared, self.same.isChecked())
            self.model.show_changes(changes)
            self.said.setText(summary(changes, compared))
            self._fit_columns()
        self._selection_changed()

    def _selection_changed(self, *_: object) -> None:
        self.overlay.setEnabled(self._current() is not None)

    def _current(self) -> StringChange | None:
        current = self._session.current
        if current is None:
            return None
        return change_of(self.model.changes, current.trace.place)

    def _then_chosen(self, place: int) -> None:
        self._session.years.baseline.value = self.then.itemData(place)

    def _now_chosen(self, place: int) -> None:
        self._session.choices.visit.value = self.now.itemData(place)

    def _overlay(self) -> None:
        change = self._current()
        if change is not None:
            overlay_both(self._session, change)

    def _on_grid(self) -> None:
        now = self.now.currentData()
        if now is not None:
            self._session.choices.visit.value = now
        self._session.choices.grid_reference.value = "visit"


def _digits(column: int) -> int:
    """Room of a column in digits: the string's name, or such as "▼ −12.4 ± 4.2" in bold."""
    return 9 if column == 0 else 13

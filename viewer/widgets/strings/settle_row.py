"""Under the findings: the engineer confirms or corrects the cause and links the retest.

Two rows, and a third where something has been settled: the room belongs to the findings.
"""

from pathlib import Path

from PySide6.QtWidgets import (
    QComboBox,
    QFileDialog,
    QGridLayout,
    QHBoxLayout,
    QLabel,
    QLineEdit,
    QPushButton,
    QWidget,
)

from viewer.analysis.causes.cause_words import cause_name
from viewer.analysis.causes.confirmation import Confirmation, RepairGain, confirm
from viewer.analysis.results.trace_result import CAUSES, TraceResult
from viewer.physics.nomenclature import with_minus
from viewer.reports.settled_csv import save_settled
from viewer.state.keeping.settled_findings import Entries
from viewer.state.keeping.settled_store import in_words
from viewer.state.session import Session
from viewer.state.strings.times_of_day import day_and_time, days_told, iso_time
from viewer.widgets.controls.binding import fill_choices, follow
from viewer.widgets.controls.theme import SMALL

UNCONFIRMED = "Entered, but not confirmed yet."


class SettleRow(QWidget):
    def __init__(self, session: Session, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._session = session
        self.settled = session.settled
        self.cause = QComboBox(self)
        self.action = QLineEdit(self)
        self.parts = QLineEdit(self)
        self.retest = QComboBox(self)
        self.keep = QPushButton("Confirm", self)
        self.overlay = QPushButton("Before and after", self)
        self.export = QPushButton("Export…", self)
        self.said = QLabel(self)
        self._buttons = QHBoxLayout()
        self._shown: tuple[str, Confirmation | None] | None = None
        self._filled = Entries("", "", "")
        self._lay_out()
        self.cause.activated.connect(self._name_button)
        self.retest.currentIndexChanged.connect(self._allow_overlay)
        self.keep.clicked.connect(self.confirm)
        for line in (self.action, self.parts):
            line.returnPressed.connect(self.confirm)
        self.overlay.clicked.connect(self.show_both)
        self.export.clicked.connect(self.ask_and_export)
        for notifier in (self.settled.changed, session.selection.changed, session.arrived):
            follow(self, notifier, self.refill)
        self.refill()

    def _lay_out(self) -> None:
        self.cause.setAccessibleName("Cause found in the field")
        self.action.setAccessibleName("Corrective action")
        self.action.setPlaceholderText("What was done")
        self.action.setToolTip("The corrective action, as it should stand in a report")
        self.parts.setAccessibleName("Part or serial numbers")
        self.parts.setPlaceholderText("Parts, serials")
        self.parts.setToolTip("Part or serial numbers, separated by commas")
        self.retest.setAccessibleName("Retest trace after the repair")
        self.overlay.setToolTip("Overlay this trace and its retest, both at STC")
        self.export.setToolTip("All settled findings of this site as CSV")
        self.said.setWordWrap(True)
        self.retest.setSizeAdjustPolicy(QComboBox.SizeAdjustPolicy.AdjustToContents)
        grid = QGridLayout(self)
        grid.setContentsMargins(0, 0, 0, 0)
        grid.setSpacing(SMALL)
        for column, widget in enumerate((self.cause, self.action, self.parts, self.keep)):
            grid.addWidget(widget, 0, column)
        grid.addWidget(self.retest, 1, 0)
        self._buttons.setSpacing(SMALL)
        self._buttons.addWidget(self.overlay)
        self._buttons.addWidget(self.export)
        self._buttons.addStretch(1)
        grid.addLayout(self._buttons, 1, 1, 1, 3)
        grid.addWidget(self.said, 2, 0, 1, 4)
        grid.setColumnStretch(1, 3)
        grid.setColumnStretch(2, 2)

    def add_button(self, button: QPushButton) -> None:
        """Another at the end of the second row."""
        self._buttons.addWidget(button)

    def refill(self, *_: object) -> None:
        """Show the current trace's record; what is being entered stays while it is the same, and
        is there again when people come back to it."""
        result = self._session.current
        self._set_aside(result)
        self.setVisible(result is not None)
        if result is None:
            self._shown = None
            return
        known = self.settled.by_trace.get(result.trace.source)
        if self._shown != (result.trace.source, known):
            self._shown = result.trace.source, known
            self._fill(result, known or confirm(result))
        else:
            self._fill_retests(result, self.retest.currentData() or self._filled.retest)
        self._name_button()
        self._allow_overlay()
        self.export.setEnabled(bool(self.settled.by_trace))
        aside = result.trace.source in self.settled.unconfirmed
        words = (UNCONFIRMED if aside else "", self._words(known))
        self.said.setText(" ".join(one for one in words if one))
        self.said.setVisible(any(words))
        self.keep.setToolTip(f"Keep the cause, and what was done ({self.settled.where()})")

    def _fill(self, result: TraceResult, first: Confirmation) -> None:
        self._filled = Entries(first.confirmed, first.action, ", ".join(first.parts), first.retest)
        now = self.settled.unconfirmed.get(result.trace.source, self._filled)
        fill_choices(self.cause, [(cause_name(one), one) for one in CAUSES], now.cause)
        self.action.setText(now.action)
        self.parts.setText(now.parts)
        self._fill_retests(result, now.retest)

    def _entries(self) -> Entries:
        cause, retest = self.cause.currentData(), self.retest.currentData()
        return Entries(cause, self.action.text(), self.parts.text(), retest)

    def _set_aside(self, result: TraceResult | None) -> None:
        """Keep what was entered about the trace before, if another one is turned to."""
        if self._shown is None or (result and result.trace.source == self._shown[0]):
            return
        now, trace = self._entries(), self._shown[0]
        if now != self._filled:
            self.settled.unconfirmed[trace] = now
        else:
            self.settled.unconfirmed.pop(trace, None)

    def _fill_retests(self, result: TraceResult, chosen: str | None) -> None:
        choices: list[tuple[str, object]] = [("no retest yet", None)]
        retests = self.settled.retests(result)
        days = days_told([(*one.trace.place, *day_and_time(iso_time(one))) for one in retests])
        for one, day in zip(retests, days, strict=True):
            choices.append((f"retest {day}", one.trace.source))
        fill_choices(self.retest, choices, chosen)

    def _name_button(self, *_: object) -> None:
        result = self._session.current
        agrees = result is None or confirm(result).confirmed == self.cause.currentData()
        self.keep.setText("Confirm" if agrees else "Correct")

    def _allow_overlay(self, *_: object) -> None:
        self.overlay.setEnabled(self.retest.currentData() is not None)

    def _words(self, known: Confirmation | None) -> str:
        if known is None:
            return ""
        gain = self.settled.gain(known)
        told = gain.text() if isinstance(gain, RepairGain) else gain or ""
        return f"{in_words(known)} {with_minus(told)}".strip()

    def confirm(self) -> None:
        """Keep what was typed about the current trace."""
        result = self._session.current
        if result is None:
            return
        self.settled.unconfirmed.pop(result.trace.source, None)
        suggested = confirm(result).suggested
        parts = tuple(one.strip() for one in self.parts.text().split(",") if one.strip())
        made = Confirmation(
            result.trace.source,
            suggested,
            self.cause.currentData(),
            self.action.text().strip(),
            parts,
            retest=self.retest.currentData(),
        )
        self.settled.settle(result, made)

    def show_both(self) -> None:
        """Select the trace and the retest that is chosen, confirmed or not, drawn at STC."""
        result, retest = self._session.current, self.retest.currentData()
        if result is not None and retest is not None:
            self._session.choices.form.value = "stc"
            self._session.selection.choose([result.trace.source, retest], result.trace.source)

    def ask_and_export(self) -> None:
        chosen, _ = QFileDialog.getSaveFileName(
            self, "Export settled findings", "settled_findings.csv", "CSV (*.csv)"
        )
        if chosen:
            self.export_to(Path(chosen))

    def export_to(self, path: Path) -> None:
        rows = []
        for one in self.settled.every:
            gain = self.settled.gain(one)
            known = gain if isinstance(gain, RepairGain) else None
            rows.append((one, self._session.result(one.trace), known))
        try:
            save_settled(rows, path)
        except OSError as problem:
            self._session.message.value = f"The findings were not exported: {problem.strerror}."
        else:
            self._session.message.value = f"Settled findings in {path}. {self.settled.record()}"

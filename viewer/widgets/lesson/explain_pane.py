"""What would explain this? Every scenario fitted to the current trace, the best laid over it."""

from collections.abc import Sequence

from PySide6.QtCore import Qt
from PySide6.QtWidgets import (
    QAbstractItemView,
    QHBoxLayout,
    QHeaderView,
    QLabel,
    QPushButton,
    QSplitter,
    QTableWidget,
    QTableWidgetItem,
    QVBoxLayout,
    QWidget,
)

from viewer.analysis.lesson.fault_quiz import settings_text
from viewer.physics.cell_string.severity_fit import MeasuredCurve, SeverityFit
from viewer.physics.nomenclature import with_minus
from viewer.site_data.text_catalogue import texts
from viewer.state.lesson.explanation import Explained, explain_steps, subject_of
from viewer.state.lesson.lesson import Lesson
from viewer.state.lesson.scenario_words import looks_of
from viewer.state.program.jobs import Job, Outcome
from viewer.state.session import Session
from viewer.widgets.controls.binding import FollowedInTurn, follow
from viewer.widgets.controls.empty_words import EmptyWords
from viewer.widgets.controls.theme import MEDIUM, SMALL, Look
from viewer.widgets.lesson.lesson_plot import LessonPlot, ShownCurve
from viewer.widgets.lesson.lesson_size import LessonSize

HEADINGS = ("Scenario", "How bad", "Distance", "Compared with the best")
EMPTY = (
    "Press “What would explain this?”: every simulated fault is fitted to the measured curve, and "
    "stands here with how bad it would have to be, the likeliest first."
)
LAID_OVER = 2
"""Fits drawn over the points: the best (or the chosen) one, and the runner-up."""


class ExplainPane(QWidget):
    def __init__(
        self,
        session: Session,
        lesson: Lesson,
        look: Look,
        size: LessonSize,
        parent: QWidget | None = None,
    ) -> None:
        super().__init__(parent)
        self._session = session
        self._lesson = lesson
        self._size = size
        self._job: Job | None = None
        self._outcome = FollowedInTurn(self, self._ended)
        self.explained: Explained | None = None
        self.said = QLabel(self)
        self.start = QPushButton("What would explain this?", self)
        self.cancel = QPushButton("Cancel", self)
        self.into_lesson = QPushButton("Take into the lesson", self)
        self.into_lesson.setToolTip("Show the chosen scenario under the sliders, on this string")
        self.table = QTableWidget(0, len(HEADINGS), self)
        self.looks = QLabel(self)
        self.plot = LessonPlot(look, size, self)
        self.plot.setAccessibleName("Measured points and the scenario laid over them")
        self._lay_out()
        self._empty = EmptyWords(self.table, lambda: EMPTY)
        self.start.clicked.connect(self.explain)
        self.cancel.clicked.connect(self.stop)
        self.into_lesson.clicked.connect(self.take_into_lesson)
        self.table.itemSelectionChanged.connect(self.show_chosen)
        follow(self, session.selection.changed, self.follow_selection)
        follow(self, session.opened, self.follow_selection)
        follow(self, session.arrived, self.follow_selection)
        follow(self, size.big.changed, self.dress)
        self.dress()
        self.follow_selection()

    def _lay_out(self) -> None:
        self.table.setHorizontalHeaderLabels(list(HEADINGS))
        self.table.verticalHeader().hide()
        self.table.setEditTriggers(QAbstractItemView.EditTrigger.NoEditTriggers)
        self.table.setSelectionBehavior(QAbstractItemView.SelectionBehavior.SelectRows)
        self.table.setSelectionMode(QAbstractItemView.SelectionMode.SingleSelection)
        self.table.setAccessibleName("Scenarios, the likeliest first")
        self.table.setWordWrap(True)
        header = self.table.horizontalHeader()
        header.setSectionResizeMode(QHeaderView.ResizeMode.ResizeToContents)
        for words in (0, 1):  # one that took what it likes would leave the other a word a line
            header.setSectionResizeMode(words, QHeaderView.ResizeMode.Stretch)
        item = self.table.horizontalHeaderItem(2)
        if item is not None:
            item.setToolTip(
                "Root mean square distance of the points from the fitted curve, as a share of "
                "the curve's size. Irradiance and temperature may be a little wrong: a fit that "
                "had to correct them far is ranked lower than its distance alone tells"
            )
        for label in (self.said, self.looks):
            label.setWordWrap(True)
            label.setTextInteractionFlags(Qt.TextInteractionFlag.TextSelectableByMouse)
        buttons = QHBoxLayout()
        buttons.setSpacing(SMALL)
        for button in (self.start, self.cancel, self.into_lesson):
            buttons.addWidget(button)
        buttons.addStretch(1)
        side = QWidget(self)
        column = QVBoxLayout(side)
        column.setContentsMargins(0, 0, 0, 0)
        column.addWidget(self.table, 1)
        column.addWidget(self.looks)
        self.parts = QSplitter(Qt.Orientation.Horizontal, self)
        self.parts.addWidget(self.plot)
        self.parts.addWidget(side)
        self.parts.setStretchFactor(0, 1)
        self.parts.setStretchFactor(1, 1)
        self.parts.setSizes([640, 640])
        self.parts.setChildrenCollapsible(False)
        outer = QVBoxLayout(self)
        outer.setContentsMargins(0, MEDIUM, 0, 0)
        outer.addLayout(buttons)
        outer.addWidget(self.said)
        outer.addWidget(self.parts, 1)

    def dress(self, *_: object) -> None:
        self.table.resizeRowsToContents()

    def follow_selection(self, *_: object) -> None:
        """Another string is current: what was found for the one before is put away."""
        current = self._session.selection.current
        if self.explained is not None and self.explained.subject.trace_id == current:
            return
        self._forget()
        self.explained = None
        self._fill()
        result = self._session.current
        try:
            subject = subject_of(result, self._session.layout)
        except ValueError as problem:
            self.said.setText(str(problem))
            self.start.setEnabled(False)
            self.plot.show_curves(())
            return
        self.start.setEnabled(True)
        self.said.setText(f"Measured: {subject.string.title}. {_conditions(subject.measured)}.")
        self.plot.show_curves((), (subject.measured.voltage, subject.measured.current))

    def explain(self) -> None:
        """Fit every scenario in the background; a run under way is dropped."""
        self._forget()
        try:
            subject = subject_of(self._session.current, self._session.layout)
        except ValueError as problem:
            self.said.setText(str(problem))
            return
        self.explained = Explained(subject)
        self._fill()
        scenarios, elsewhere = self._lesson.scenarios, self._session.jobs.elsewhere
        self._job = Job(
            f"Explaining {subject.string.title}",
            lambda: elsewhere(explain_steps, subject, scenarios),
            self.take,
        )
        self._outcome.turn_to(self._job.outcome.changed)
        self.cancel.setEnabled(True)
        self._session.jobs.start(self._job)

    def stop(self) -> None:
        """Ask the run under way to stop; what it has found stays."""
        if self._job is not None:
            self._job.cancel()
        self.cancel.setEnabled(False)

    def _forget(self) -> None:
        self.stop()
        self._job = None

    def take(self, fits: Sequence[SeverityFit]) -> None:
        if self.explained is None:
            return
        self.explained = self.explained.with_more(fits)
        self._fill()
        done, total = len(self.explained.fits), len(self._lesson.scenarios)
        self.said.setText(f"Scenarios tried: {done} of {total}.")

    def _ended(self, outcome: Outcome) -> None:
        if self.explained is None or self._job is None or self._job.outcome.value is not outcome:
            return
        self.cancel.setEnabled(False)
        if outcome.kind == "done":
            title = self.explained.subject.string.title
            self.said.setText(f"{title}. {self.explained.summary()}")
        else:
            self.said.setText(outcome.text)

    def _fill(self) -> None:
        fits = self.explained.fits if self.explained else ()
        self.table.blockSignals(True)
        self.table.setRowCount(len(fits))
        for row, fit in enumerate(fits):
            assert self.explained is not None
            healthy = fit.scenario.cause == "none" and fit.scenario.key == "healthy"
            texts = (
                fit.scenario.name,
                "–" if healthy else with_minus(settings_text(fit.simulated)),
                f"{100 * fit.misfit:.2f} %",
                self.explained.grade(fit),
            )
            for column, text in enumerate(texts):
                item = QTableWidgetItem(text)
                item.setToolTip(text)
                self.table.setItem(row, column, item)
        if fits:
            self.table.selectRow(0)
        self.table.resizeRowsToContents()
        self.table.blockSignals(False)
        self.show_chosen()

    def chosen(self) -> SeverityFit | None:
        fits = self.explained.fits if self.explained else ()
        row = self.table.currentRow()
        return fits[row] if 0 <= row < len(fits) else None

    def show_chosen(self) -> None:
        """Lay the chosen fit over the points, with the best other one beside it."""
        fit = self.chosen()
        self.into_lesson.setEnabled(fit is not None)
        if fit is None or self.explained is None:
            self.looks.setText("")
            return
        others = [one for one in self.explained.fits if one is not fit]
        drawn = [fit, *others][:LAID_OVER]
        measured = self.explained.subject.measured
        self.plot.show_curves(
            [
                ShownCurve(one.voltage, one.current, style, one.scenario.name)
                for style, one in enumerate(drawn)
            ],
            (measured.voltage, measured.current),
        )
        looks = "\n".join(f"• {question} {answer}" for question, answer in looks_of(fit.scenario))
        said = (
            f"{fit.scenario.name}, to be sure:",
            looks,
            texts()["trace"]["caution"],
            _scaled(fit),
        )
        self.looks.setText("\n".join(said))

    def take_into_lesson(self) -> None:
        fit = self.chosen()
        if fit is not None and self.explained is not None:
            self._lesson.take(fit, self.explained.subject.string)


def _conditions(measured: MeasuredCurve) -> str:
    return f"{measured.poa_global:.0f} W/m², cells at {measured.temperature_cell:.1f} °C"


def _scaled(fit: SeverityFit) -> str:
    """What was allowed for the readings of irradiance and temperature."""
    return (
        f"Drawn with current scaled by {fit.current_factor:.3f} and voltage by "
        f"{fit.voltage_factor:.3f}, which the readings leave open."
    )

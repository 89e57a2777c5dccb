"""Sample: which strings to trace this year, in walking order, and what that can show."""

from collections.abc import Callable
from pathlib import Path

from PySide6.QtWidgets import (
    QCheckBox,
    QFileDialog,
    QFrame,
    QPushButton,
    QSpinBox,
    QTextBrowser,
    QVBoxLayout,
    QWidget,
)

from viewer.analysis.before_visit.visit_sheet import sheet_rows
from viewer.analysis.prediction.site_models import site_models
from viewer.reports.sample_table import REASONS, sampled_text, write_sample_csv
from viewer.reports.visit_sheet_files import write_sheet_csv, write_sheet_pdf
from viewer.state.session import Session
from viewer.state.years.sample_planning import (
    PlannedSample,
    SampleWish,
    between_strings,
    detection_sentences,
    sample_of,
)
from viewer.state.years.traced_strings import traced_strings
from viewer.widgets.controls.binding import RowTie, follow
from viewer.widgets.controls.labelled_row import labelled_row
from viewer.widgets.controls.number_box import number_box
from viewer.widgets.controls.plain_rows import PlainRow, PlainRows, plain_table, set_widths
from viewer.widgets.controls.table_and_words import TableAndWords
from viewer.widgets.controls.theme import MEDIUM, SMALL, Look
from viewer.widgets.years.years_widget import YearsWidget

HEADINGS = ("No", "Combiner", "String", "Why", "Last traced", "Module")
MEANINGS = (
    "Order of walking: combiner by combiner",
    "The combiner box the string ends in",
    "The string to trace",
    "Panel: traced every year; rotation: others in turn; suspect: fell short last time",
    "The latest visit on which it was traced",
    "The string's module type in site.toml",
)
WAITING = "The sample is planned when all traces have arrived."


class SamplePane(YearsWidget):
    def __init__(self, session: Session, look: Look, parent: QWidget | None = None) -> None:
        super().__init__(session, parent)
        self.planned: PlannedSample | None = None
        self.share = number_box("Share of all strings to trace", "%", 1, 100, 10, 0)
        self.panel = number_box("Share of the sample that stays the same", "%", 0, 100, 50, 0)
        self.seed = QSpinBox(self)
        self.short = QCheckBox("add strings that fell short", self)
        self.irradiance = number_box("Irradiance on the test sheet", "W/m²", 100, 1300, 800, 0)
        self.cell = number_box("Cell temperature on the test sheet", "°C", -20, 90, 45, 0)
        self.model = PlainRows(session, HEADINGS, (0,), self, MEANINGS)
        self.view = plain_table(self.model, "Strings to trace in walking order")
        self.said = QTextBrowser(self)
        self.as_csv = QPushButton("Export CSV…", self)
        self.sheet = QPushButton("Test sheet…", self)
        self._lay_out()
        self._tie = RowTie(self.view, session.selection)
        for box in (self.share, self.panel, self.seed):
            box.valueChanged.connect(self.later.ask)
        self.short.toggled.connect(self.later.ask)
        self.as_csv.clicked.connect(self._ask_csv)
        self.sheet.clicked.connect(self._ask_sheet)
        for notifier, method in (
            (session.site_changed, self.later.ask),
            (session.loaded, self.want),
            (session.loaded, self.later.ask),
            (session.years.changed, self.found_changed),
        ):
            follow(self, notifier, method)
        self.later.ask()

    def _lay_out(self) -> None:
        self.seed.setRange(1, 999_999)
        self.seed.setAccessibleName("Seed of the choice")
        self.seed.setToolTip("The same seed and history give the same plan, on every computer")
        self.short.setChecked(True)
        self.short.setToolTip("Suspects are traced too but do not stand for the site")
        self.panel.setToolTip("Strings traced every year, which a change is best measured on")
        self.sheet.setToolTip("Paper to take along: expected Voc and Isc of each string, as PDF")
        self.said.setFrameShape(QFrame.Shape.NoFrame)
        self.said.setAccessibleName("What the sample can show")
        for box in (self.share, self.panel, self.seed, self.irradiance, self.cell):
            box.setMaximumWidth(13 * self.fontMetrics().horizontalAdvance("0"))
        set_widths(self.view, (4, 9, 10, 25, 19), names=2)
        column = QVBoxLayout(self)
        column.setContentsMargins(MEDIUM, MEDIUM, MEDIUM, SMALL)
        column.setSpacing(SMALL)
        fields = (("Of all strings", self.share), ("Same every year", self.panel))
        column.addLayout(labelled_row(*fields, ("Seed", self.seed), ("", self.short)))
        sheet = (("Test sheet at", self.irradiance), ("with cells at", self.cell))
        column.addLayout(labelled_row(*sheet, ("", self.sheet), ("", self.as_csv)))
        column.addWidget(TableAndWords(self.view, self.said, self), 1)

    def refill(self, *_: object) -> None:
        self.planned, problem = self._plan()
        planned = self.planned
        self.as_csv.setEnabled(planned is not None)
        self.sheet.setEnabled(planned is not None)
        if planned is None:
            self.model.show_rows(())
            self.said.setPlainText(problem)
            return
        found = self._session.years.found
        latest = found.traced.latest if found else {}
        self.model.show_rows(
            [
                PlainRow(
                    (
                        str(number),
                        one.combiner,
                        one.string,
                        REASONS[one.reason],
                        planned.last_traced.get(one.place, "never"),
                        one.module_type,
                    ),
                    one.place,
                    latest.get(one.place),
                )
                for number, one in enumerate(planned.plan.strings, start=1)
            ]
        )
        self.said.setPlainText("\n".join(self._words(planned)))

    def wish(self) -> SampleWish:
        return SampleWish(
            self.share.value() / 100,
            self.panel.value() / 100,
            self.seed.value(),
            self.short.isChecked(),
        )

    def _plan(self) -> tuple[PlannedSample | None, str]:
        session = self._session
        layout = session.layout
        if layout is None or not any(box.strings for box in layout.combiners):
            return None, "There are no strings to choose from: describe them in site.toml."
        found = session.years.found
        if session.is_loading or (found is None and session.has_results):
            return None, WAITING
        between = between_strings(found.trend.usual if found else None)
        traced = found.traced if found else traced_strings((), ())
        try:
            made = sample_of(layout, traced, self.wish(), session.inputs.uncertainties, between)
        except ValueError as problem:
            return None, f"{problem}."
        return made, ""

    @staticmethod
    def _words(planned: PlannedSample) -> list[str]:
        return [
            sampled_text(planned.plan),
            "",
            *detection_sentences(planned.power),
            "",
            "Strings are live whenever light falls on them: qualified persons only, "
            "after local codes.",
        ]

    def _ask_csv(self) -> None:
        self._ask("Export the sample", "sample.csv", "CSV table (*.csv)", self.save_csv)

    def _ask_sheet(self) -> None:
        filters = "PDF page (*.pdf);;CSV table (*.csv)"
        self._ask("Make a test sheet", "test_sheet.pdf", filters, self.save_sheet)

    def _ask(self, title: str, name: str, filters: str, save: Callable[[Path], object]) -> None:
        folder = self._session.folder
        start = str((folder.parent if folder else Path.home()) / name)
        chosen, _ = QFileDialog.getSaveFileName(self, title, start, filters)
        if chosen:
            path = Path(chosen)
            save(path if path.suffix else path.with_suffix(Path(name).suffix))

    def save_csv(self, path: Path) -> None:
        planned = self.planned
        if planned is not None:
            self._save(path, lambda: write_sample_csv(path, planned.plan, planned.last_traced))

    def save_sheet(self, path: Path) -> None:
        """The test sheet of the planned strings, as PDF, or as CSV by the name's ending."""
        layout, planned = self._session.layout, self.planned
        if layout is None or planned is None:
            return
        models = site_models(layout.modules).models
        places = [one.place for one in planned.plan.strings]
        irradiance, cell = self.irradiance.value(), self.cell.value()
        rows = sheet_rows(layout, models, places, irradiance, cell)
        if path.suffix.lower() == ".csv":
            self._save(path, lambda: write_sheet_csv(path, rows))
        else:
            self._save(path, lambda: write_sheet_pdf(path, layout.name, rows, irradiance, cell))

    def _save(self, path: Path, write: Callable[[], object]) -> None:
        try:
            write()
        except OSError as problem:
            why = problem.strerror or problem
            self._session.message.value = f"{path.name} was not saved: {why}."
        else:
            self._session.message.value = f"Saved {path}."

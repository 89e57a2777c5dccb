"""Warranty: measured power at STC against what the maker warrants at that age."""

from datetime import date

from PySide6.QtWidgets import (
    QCheckBox,
    QComboBox,
    QFrame,
    QLabel,
    QLineEdit,
    QPushButton,
    QTextBrowser,
    QVBoxLayout,
    QWidget,
)

from viewer.analysis.years.warranty import WarrantyFindings
from viewer.physics.nomenclature import counted
from viewer.state.session import Session
from viewer.state.years.warranty_entry import (
    EnteredTerms,
    as_entered,
    read_terms,
    terms_in_force,
    warranty_cells,
    warranty_findings,
    warranty_sentences,
)
from viewer.widgets.controls.binding import RowTie, fill_choices, follow
from viewer.widgets.controls.day_box import DayBox
from viewer.widgets.controls.labelled_row import labelled_row
from viewer.widgets.controls.number_box import number_box
from viewer.widgets.controls.plain_rows import PlainRow, PlainRows, plain_table, set_widths
from viewer.widgets.controls.table_and_words import TableAndWords
from viewer.widgets.controls.theme import MEDIUM, SMALL, Look
from viewer.widgets.years.years_widget import YearsWidget

HEADINGS = (
    "String",
    "Decision",
    "Measured (W)",
    "Warranted (W)",
    "Short (W)",
    "P(below)",
    "Age (years)",
    "Serial",
)
MEANINGS = (
    "The traced string, or the module that was traced alone",
    "Below or above when the whole interval of ± U lies on that side of the warranted power",
    "Pmp translated to STC ± expanded uncertainty (k = 2) of its visit and string together",
    "Rated power of all its modules times what the terms warrant at that age",
    "Warranted less measured power",
    "Probability that the true power lies below the warranted one, by the measured value's normal "
    "distribution (JCGM 106:2012)",
    "From the start of the warranty to the day of the trace",
    "Serial number as the trace file gives it",
)
WAITING = "Powers at STC are computed when all traces have arrived."


class WarrantyPane(YearsWidget):
    def __init__(self, session: Session, look: Look, parent: QWidget | None = None) -> None:
        super().__init__(session, parent)
        self.found: WarrantyFindings | None = None
        self.module = QComboBox(self)
        self.first_year = number_box("Lost at most in the first year", "%", 0, 50, 2, 2)
        lost = "Lost a year thereafter, percentage points"
        self.annual = number_box(lost, "%/year", 0, 10, 0.55, 2)
        self.years = number_box("Length of the warranty", "years", 1, 60, 25, 0)
        self.rated = number_box("Rated power the percentages refer to", "W", 0, 5000, 0)
        self.steps = QLineEdit(self)
        self.start = DayBox("Start of the warranty", date(date.today().year, 1, 1), self)
        self.every = QCheckBox("for every module type", self)
        self.use = QPushButton("Use these terms", self)
        self.problem = QLabel(self)
        self.model = PlainRows(session, HEADINGS, (2, 3, 4, 5, 6), self, MEANINGS)
        self.view = plain_table(self.model, "Measured against warranted power")
        self.said = QTextBrowser(self)
        self._lay_out()
        self._tie = RowTie(self.view, session.selection)
        self.module.activated.connect(self.show_terms)
        self.use.clicked.connect(self.use_terms)
        for notifier, method in (
            (session.site_changed, self.site_changed),
            (session.loaded, self.want),
            (session.years.changed, self.found_changed),
            (session.years.terms.changed, self.later.ask),
            (session.years.terms.changed, self.show_terms),
        ):
            follow(self, notifier, method)
        self.site_changed()

    def _lay_out(self) -> None:
        self.module.setAccessibleName("Module type the terms are for")
        self.module.setSizeAdjustPolicy(QComboBox.SizeAdjustPolicy.AdjustToContents)
        hint = "or steps, 10:90, 25:80"
        self.steps.setPlaceholderText(hint)
        self.steps.setMinimumWidth(self.fontMetrics().horizontalAdvance(hint) + 2 * MEDIUM)
        self.steps.setAccessibleName("Steps: age in years, colon, percent warranted until then")
        self.steps.setToolTip("Years : % of rated power warranted until then; before the above")
        self.rated.setSpecialValueText("the datasheet's")
        self.problem.setWordWrap(True)
        self.problem.hide()
        self.said.setFrameShape(QFrame.Shape.NoFrame)
        self.said.setAccessibleName("Counts, decision rule and what it does not prove")
        set_widths(self.view, (9, 12, 12, 11, 8, 7, 7), names=0)
        column = QVBoxLayout(self)
        column.setContentsMargins(MEDIUM, MEDIUM, MEDIUM, SMALL)
        column.setSpacing(SMALL)
        lost = (("lost in the first year", self.first_year), ("then", self.annual))
        column.addLayout(labelled_row(("Module", self.module), *lost, ("for", self.years)))
        start = (("of", self.rated), ("from", self.start))
        column.addLayout(labelled_row(("", self.steps), *start, ("", self.every), ("", self.use)))
        column.addWidget(self.problem)
        column.addWidget(TableAndWords(self.view, self.said, self), 1)

    def site_changed(self, *_: object) -> None:
        layout = self._session.layout
        names = list(layout.modules) if layout else []
        fill_choices(self.module, [(name, name) for name in names], self.module.currentData())
        self.use.setEnabled(bool(names))
        self.show_terms()
        self.later.ask()

    def show_terms(self, *_: object) -> None:
        """The terms in force for the module chosen, as they would be typed."""
        entered = self._session.years.terms.value
        known = terms_in_force(self._session.layout, entered, self.module.currentData() or "")
        terms = as_entered(known)
        self.first_year.setValue(terms.first_year)
        self.annual.setValue(terms.annual)
        self.years.setValue(terms.years)
        self.steps.setText(terms.steps)
        self.rated.setValue(terms.rated_power or 0.0)
        if terms.start is not None:
            self.start.show_day(terms.start)

    def use_terms(self) -> None:
        """Take what is typed for the module chosen, or for all of them."""
        layout = self._session.layout
        if layout is None:
            return
        typed = EnteredTerms(
            self.first_year.value(),
            self.annual.value(),
            self.years.value(),
            self.steps.text(),
            self.start.day(),
            self.rated.value() or None,
        )
        try:
            terms = read_terms(typed)
        except ValueError as problem:
            self.problem.setText(str(problem))
            self.problem.show()
            return
        self.problem.hide()
        names = list(layout.modules) if self.every.isChecked() else [self.module.currentData()]
        values = self._session.years.terms
        values.value = values.value | dict.fromkeys(names, terms)

    def refill(self, *_: object) -> None:
        years = self._session.years.found
        if years is None:
            self.found = None
            self.model.show_rows(())
            self.said.setPlainText(WAITING)
            return
        self.found = warranty_findings(years, self._session.years.terms.value)
        sources = {
            (one.place, one.serial, one.measured_at.date()): one.source
            for checked in self.found.checks
            for one in years.by_string.get(checked.place, ())
        }
        order = sorted(self.found.checks, key=lambda one: -one.below_probability)
        self.model.show_rows(
            [
                PlainRow(
                    warranty_cells(one),
                    one.place,
                    sources.get((one.place, one.serial, one.measured_on)),
                    f"{' / '.join(one.place)}: {one.decision}; {counted(one.modules, 'module')}, "
                    f"measured on {one.measured_on.isoformat()}",
                )
                for one in order
            ]
        )
        said = warranty_sentences(self.found)
        if not self.found.checks:
            said.append(
                "Enter the terms of the module's warranty above, or as "
                "[module.KEY.warranty] in site.toml."
            )
        self.said.setPlainText("\n\n".join(said))

"""The site overview: every string of every combiner at once, and what the worst ones cost."""

from dataclasses import replace
from pathlib import Path

from PySide6.QtCore import QSignalBlocker, Qt, QTimer
from PySide6.QtGui import QShowEvent
from PySide6.QtWidgets import (
    QComboBox,
    QFileDialog,
    QFormLayout,
    QFrame,
    QHBoxLayout,
    QLabel,
    QLineEdit,
    QPushButton,
    QSizePolicy,
    QSplitter,
    QTabWidget,
    QTextBrowser,
    QVBoxLayout,
    QWidget,
)

from viewer.analysis.causes.cause_words import cause_name
from viewer.analysis.losses.site_overview import CostlyString
from viewer.reports.curve_figure import place_name
from viewer.reports.loss_tables import lost_text, money_text, none_text, together_text
from viewer.state.losses.overview_grid import label_of, overview_grid, quantity_choices
from viewer.state.losses.site_losses import Losses, SiteLosses
from viewer.state.session import Session
from viewer.widgets.controls.binding import RowTie, fill_choices, follow
from viewer.widgets.controls.number_box import number_box
from viewer.widgets.controls.plain_rows import PlainRow, PlainRows, plain_table, set_widths
from viewer.widgets.controls.theme import MEDIUM, SMALL, Look
from viewer.widgets.controls.visit_chooser import VisitChooser
from viewer.widgets.strings.overview_canvas import OverviewCanvas

HEADINGS = ("String", "First cause", "Lost (W)", "kWh/year", "Cost/year")
MEANINGS = (
    "Strings that lose power to a fault of their own, the costliest first",
    "The costliest of the likely causes; a row's tip tells how likely",
    "Predicted less measured power, told at STC",
    "Power lost at STC over the year of light that is chosen under Price and yield",
    "Energy lost times the price entered under Price and yield",
)
WIDTHS = (9, 14, 7, 8)
ENERGY, COST = 3, 4
"""Columns that are hidden while nothing is known to print in them."""
REDRAW_AFTER = 300
"""Milliseconds: results arrive many times a second while a site opens."""
FILES = "Hourly year (*.csv *.txt *.xlsx *.epw *.tm3 *.tmy3);;All files (*)"


class OverviewPane(QWidget):
    def __init__(self, session: Session, look: Look, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._session = session
        self._look = look
        self.losses = SiteLosses(session)
        self.quantity = QComboBox(self)
        self.canvas = OverviewCanvas(self)
        self.pointed = QLabel(self)
        self.rows = PlainRows(session, HEADINGS, (2, 3, 4), self, MEANINGS)
        self.list = plain_table(self.rows, "Worst strings of the site")
        self.said = QTextBrowser(self)
        self.price = number_box("Price of a kWh", "per kWh", 0.0, 100000.0, 0.0, 4)
        self.currency = QLineEdit(self)
        self.stated = number_box("Yield of a sound plant", "kWh/kW a year", 0.0, 4000.0, 0.0, 0)
        self.year = QPushButton(self)
        self._later = QTimer(self)
        self._later.setSingleShot(True)
        self._later.setInterval(REDRAW_AFTER)
        self._later.timeout.connect(self.redraw)
        self._stale = True
        self._lay_out()
        self._tie = RowTie(self.list, session.selection)
        self._connect()
        self.dress()

    def _connect(self) -> None:
        session = self._session
        self.quantity.activated.connect(self.redraw)
        self.canvas.chosen.connect(self.choose)
        self.canvas.pointed.connect(self._point)
        self.price.valueChanged.connect(self._terms_typed)
        self.stated.valueChanged.connect(self._terms_typed)
        self.currency.editingFinished.connect(self._terms_typed)
        self.year.clicked.connect(self.choose_year)
        for notifier, method in (
            (session.opened, self._another_site),
            (session.arrived, self._soon),
            (session.loaded, self._soon),
            (session.choices.visit.changed, self._soon),
            (session.settings.changed, self._settings_changed),
            (session.selection.changed, self._show_chosen),
            (self.losses.changed, self._show_losses),
            (self._look.theme.changed, self.dress),
        ):
            follow(self, notifier, method)
        self._settings_changed()

    def _lay_out(self) -> None:
        fill_choices(self.quantity, list(quantity_choices()), "power_ratio")
        self.quantity.setAccessibleName("Quantity of the site overview")
        whole = QPushButton("Whole site", self)
        whole.setToolTip("Show every string (the wheel zooms, dragging moves)")
        whole.clicked.connect(self.canvas.fit)
        top = QHBoxLayout()
        top.setSpacing(SMALL)
        for widget in (VisitChooser(self._session, self), self.quantity):
            top.addWidget(widget)
        self.pointed.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Preferred)
        top.addStretch(1)
        left = QWidget(self)
        column = QVBoxLayout(left)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(SMALL)
        column.addLayout(top)
        column.addWidget(self.canvas, 1)
        below = QHBoxLayout()
        below.setSpacing(SMALL)
        below.addWidget(self.pointed, 1)
        below.addWidget(whole)
        column.addLayout(below)
        split = QSplitter(Qt.Orientation.Horizontal, self)
        split.addWidget(left)
        split.addWidget(self._worst_side())
        split.setStretchFactor(0, 1)
        split.setStretchFactor(1, 1)
        split.setChildrenCollapsible(False)
        split.setSizes([450, 550])
        self.canvas.setMinimumSize(200, 80)
        outer = QVBoxLayout(self)
        outer.setContentsMargins(MEDIUM, MEDIUM, MEDIUM, SMALL)
        outer.addWidget(split)

    def _worst_side(self) -> QWidget:
        for box in (self.price, self.stated):
            box.setSpecialValueText("not given")
        self.price.setToolTip("What a lost kilowatt-hour costs")
        self.stated.setToolTip("What a sound plant here yields in a year, kWh per kW at STC")
        self.currency.setPlaceholderText("currency")
        self.currency.setAccessibleName("Currency of the price")
        self.said.setFrameShape(QFrame.Shape.NoFrame)
        self.said.setAccessibleName("Sum over the strings that lose, and what it assumes")
        set_widths(self.list, WIDTHS, names=0)
        terms = QWidget(self)
        form = QFormLayout(terms)
        form.setContentsMargins(0, SMALL, 0, 0)
        form.setSpacing(SMALL)
        price = QHBoxLayout()
        price.setSpacing(SMALL)
        price.addWidget(self.price, 2)
        price.addWidget(self.currency, 1)
        form.addRow("Price", price)
        form.addRow("Yield", self.stated)
        form.addRow("Irradiance", self.year)
        pages = QTabWidget(self)
        pages.setDocumentMode(True)
        for page, title in (
            (self.list, "Worst"),
            (self.said, "Together"),
            (terms, "Price and yield"),
        ):
            pages.addTab(page, title)
        return pages

    def showEvent(self, event: QShowEvent) -> None:
        super().showEvent(event)
        if self._stale:
            self.redraw()

    def _soon(self, *_: object) -> None:
        self._stale = True
        if self.isVisible() and not self._later.isActive():
            self._later.start()

    def redraw(self, *_: object) -> None:
        """Draw what is known now and have the costs computed."""
        if not self.isVisible():
            self._stale = True
            return
        self._stale = False
        session = self._session
        grid = overview_grid(session, self.quantity.currentData()) if session.results else None
        self.canvas.show_grid(grid)
        self._show_chosen()
        self._point(-1, -1)
        self.losses.ensure()

    def _another_site(self, *_: object) -> None:
        self.losses.forget()
        self.canvas.show_grid(None)
        self._soon()

    def _show_chosen(self, *_: object) -> None:
        grid = self.canvas.grid
        if grid is None:
            return
        ids = [one for one in self._session.selection.ids if one != self._session.selection.current]
        ids += [self._session.selection.current] if self._session.selection.current else []
        found = (grid.place_of(one) for one in ids)
        self.canvas.show_chosen(tuple(place for place in found if place is not None))

    def choose(self, row: int, column: int, add: bool) -> None:
        """Select the string of a cell everywhere."""
        grid = self.canvas.grid
        trace_id = grid.traces[row][column] if grid is not None else ""
        if not trace_id:
            self._session.message.value = "That string has no trace in the shown visit."
        elif add:
            self._session.selection.toggle(trace_id)
        else:
            self._session.selection.choose([trace_id])

    def _point(self, row: int, column: int) -> None:
        grid = self.canvas.grid
        if grid is None:
            self.pointed.setText("")
        elif row < 0:
            label = label_of(grid.overview.quantity)
            self.pointed.setText(f"{label} {grid.full}, ▼ the worst")
        else:
            unit = grid.overview.quantity.unit
            place = f"{grid.overview.combiners[row]} {grid.string(row, column)}"
            known = bool(grid.traces[row][column])
            value = f"{grid.text(row, column)} {unit}".rstrip() if known else "not traced"
            self.pointed.setText(f"{place}: {value}")

    def _show_losses(self, *_: object) -> None:
        found = self.losses.found
        if found is None:
            self.rows.show_rows(())
            self.said.setPlainText(self.losses.problem)
            return
        self.rows.show_rows(
            [
                PlainRow(
                    listed_cells(one, found.with_energy),
                    (one.combiner, one.string),
                    one.trace,
                    described(one),
                )
                for one in found.worst
            ]
        )
        self.list.setColumnHidden(ENERGY, not found.with_energy)
        self.list.setColumnHidden(COST, not any(one.cost.money for one in found.worst))
        self.said.setPlainText(losses_text(found))

    def _settings_changed(self, *_: object) -> None:
        told = self._session.settings.value
        for box, value in ((self.price, told.energy_price), (self.stated, told.stated_yield)):
            with QSignalBlocker(box):
                box.setValue(value)
        self.currency.setText(told.energy_currency)
        name = Path(told.typical_year).name if told.typical_year else "clear sky"
        self.year.setText(f"Year: {name}…")
        self.year.setToolTip("Choose a file of a typical year; cancel goes back to the clear sky")
        self._soon()

    def _terms_typed(self, *_: object) -> None:
        settings = self._session.settings
        settings.value = replace(
            settings.value,
            energy_price=self.price.value(),
            energy_currency=self.currency.text().strip(),
            stated_yield=self.stated.value(),
        )

    def choose_year(self) -> None:
        chosen, _ = QFileDialog.getOpenFileName(self, "Typical year", "", FILES)
        settings = self._session.settings
        settings.value = replace(settings.value, typical_year=chosen)

    def dress(self, *_: object) -> None:
        self.canvas.set_theme(self._look.theme.value)


def listed_cells(one: CostlyString, with_energy: bool) -> tuple[str, ...]:
    """The printed cells of one of the worst strings."""
    return (
        place_name((one.combiner, one.string)),
        cause_name(one.first_cause),
        f"{one.cost.lost_at_stc:.0f}",
        f"{one.cost.lost_in_year:.0f}" if with_energy else "–",
        money_text(one.cost.money, one.cost.currency),
    )


def described(one: CostlyString) -> str:
    """What the list has no column for."""
    cause = f"{cause_name(one.first_cause)}, likelihood {100 * one.likelihood:.0f} %"
    spread = one.power_ratio_uncertainty
    ratio = f"Power ratio {one.power_ratio:.3f}" + ("" if spread is None else f" ± {spread:.3f}")
    lost = f"Lost at STC {lost_text(one.cost)} (± for k = 2)"
    return "\n".join((f"{ratio}; {cause}", lost, *one.cost.assumptions))


def losses_text(found: Losses) -> str:
    """The sum over all strings that lose, and what it assumes."""
    every = found.together
    if every is None:
        return none_text(found.judged)
    together = together_text(found.count, every, found.with_energy)
    return f"{together}\nAssumed: {' '.join(every.assumptions)}"

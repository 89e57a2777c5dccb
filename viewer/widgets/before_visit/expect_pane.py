"""At the string: type the conditions, see what to expect; type a Voc, learn what is missing."""

import pyqtgraph as pg
from PySide6.QtCore import Qt
from PySide6.QtWidgets import (
    QComboBox,
    QFormLayout,
    QHBoxLayout,
    QLabel,
    QVBoxLayout,
    QWidget,
)

from viewer.analysis.before_visit.at_the_string import Expectation
from viewer.physics.nomenclature import KEY_POINTS
from viewer.physics.single_diode import curve
from viewer.state.before_visit import SiteExpectations
from viewer.state.session import Session
from viewer.widgets.controls.binding import fill_choices, follow
from viewer.widgets.controls.number_box import number_box
from viewer.widgets.controls.theme import MEDIUM, SMALL, Look, figures_font
from viewer.widgets.controls.when_seen import WhenSeen
from viewer.widgets.plot.plain_plot import PlainPlot

CURVE_POINTS = 120


class ExpectPane(QWidget):
    def __init__(self, session: Session, look: Look, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._session = session
        self._look = look
        self._expectations = SiteExpectations()
        self.combiner = QComboBox(self)
        self.string = QComboBox(self)
        self.irradiance = number_box("Irradiance in the plane", "W/m²", 1, 1600, 800, 0)
        self.temperature = number_box("Temperature at the module's back", "°C", -40, 100, 40)
        self.measured = number_box("Measured Voc", "V", 0, 2000, 0)
        self.measured.setSpecialValueText("not measured")
        self.values = {one.name: QLabel(self) for one in KEY_POINTS}
        self.said = QLabel(self)
        self.plot = PlainPlot(
            "Curve to expect, current over voltage", "Current (A)", "Voltage (V)", self
        )
        self._line = self.plot.plot([], [])
        self._lay_out()
        self.combiner.currentIndexChanged.connect(self._combiner_chosen)
        self._later = WhenSeen(self, self.show_expected)
        for box in (self.irradiance, self.temperature, self.measured):
            box.valueChanged.connect(self._later.ask)
        self.string.currentIndexChanged.connect(self._later.ask)
        follow(self, session.site_changed, self.refill)
        follow(self, session.selection.changed, self.follow_selection)
        follow(self, look.theme.changed, self.dress)
        self.dress()
        self.refill()
        self.follow_selection()

    def _lay_out(self) -> None:
        self.combiner.setAccessibleName("Combiner")
        self.string.setAccessibleName("String")
        form = QFormLayout()
        form.setSpacing(SMALL)
        form.addRow("Combiner", self.combiner)
        form.addRow("String", self.string)
        form.addRow("Irradiance", self.irradiance)
        form.addRow("Module's back", self.temperature)
        form.addRow("Measured Voc", self.measured)
        results = QFormLayout()
        results.setSpacing(SMALL)
        for one in KEY_POINTS:
            label = self.values[one.name]
            label.setFont(figures_font())
            label.setAlignment(Qt.AlignmentFlag.AlignRight)
            label.setTextInteractionFlags(Qt.TextInteractionFlag.TextSelectableByMouse)
            label.setToolTip(f"Expected {one.meaning} of the whole string")
            results.addRow(one.label, label)
        self.said.setWordWrap(True)
        self.said.setTextInteractionFlags(Qt.TextInteractionFlag.TextSelectableByMouse)
        self.plot.setMouseEnabled(False, False)
        self.plot.setMinimumSize(180, 110)
        top = QHBoxLayout()
        top.setSpacing(2 * MEDIUM)
        top.addLayout(form)
        top.addLayout(results)
        top.addWidget(self.plot, 1)
        column = QVBoxLayout(self)
        column.setContentsMargins(MEDIUM, MEDIUM, MEDIUM, SMALL)
        column.addLayout(top, 1)
        column.addWidget(self.said)

    def dress(self, *_: object) -> None:
        theme = self._look.theme.value
        self.plot.dress(theme)
        self._line.setPen(pg.mkPen(theme.accent, width=2))

    def refill(self, *_: object) -> None:
        layout = self._session.layout
        boxes = layout.combiners if layout else ()
        fill_choices(
            self.combiner, [(one.name, one.name) for one in boxes], self.combiner.currentData()
        )
        self._combiner_chosen()

    def _combiner_chosen(self, *_: object) -> None:
        layout = self._session.layout
        chosen = self.combiner.currentData()
        strings = [
            string
            for box in (layout.combiners if layout else ())
            if box.name == chosen
            for string in box.strings
        ]
        fill_choices(
            self.string, [(one.name, one.name) for one in strings], self.string.currentData()
        )
        self._later.ask()

    def follow_selection(self) -> None:
        """The string that is current everywhere is the one asked about here."""
        result = self._session.current
        if result is None:
            return
        place = self.combiner.findData(result.trace.combiner)
        if place >= 0:
            self.combiner.setCurrentIndex(place)
            string = self.string.findData(result.trace.string)
            if string >= 0:
                self.string.setCurrentIndex(string)

    def show_expected(self) -> None:
        layout = self._session.layout
        combiner, string = self.combiner.currentData(), self.string.currentData()
        if layout is None or combiner is None or string is None:
            self._show_nothing("Open a site whose site.toml lists its strings.")
            return
        try:
            expectation, deficit = self._expectations.expect(
                layout,
                combiner,
                string,
                self.irradiance.value(),
                self.temperature.value(),
                self.measured.value(),
            )
        except ValueError as problem:
            self._show_nothing(str(problem))
            return
        self._show(expectation)
        cells = f"Cells taken to be at {expectation.temperature_cell:.1f} °C."
        text = deficit.text[0].upper() + deficit.text[1:] + ". " if deficit else ""
        self.said.setText(text + cells)

    def _show(self, expectation: Expectation) -> None:
        found = expectation.key_points.as_dict()
        for one in KEY_POINTS:
            self.values[one.name].setText(f"{one.text(found[one.name])} {one.unit}".strip())
        voltage, current = curve(expectation.parameters, CURVE_POINTS)
        self._line.setData(voltage, current)

    def _show_nothing(self, sentence: str) -> None:
        for label in self.values.values():
            label.setText("–")
        self._line.setData([], [])
        self.said.setText(sentence)

"""Highest string voltage and current against ratings, before anything is connected.

The ratings are settings: what is entered here is remembered, and stands in the settings pane.
"""

from dataclasses import replace
from typing import Any

from PySide6.QtCore import QSignalBlocker, Qt
from PySide6.QtWidgets import (
    QAbstractItemView,
    QComboBox,
    QFrame,
    QGridLayout,
    QHBoxLayout,
    QHeaderView,
    QLabel,
    QLineEdit,
    QTableWidget,
    QTableWidgetItem,
    QTextBrowser,
    QVBoxLayout,
    QWidget,
)

from viewer.analysis.before_visit.electrical_limits import (
    RATING_CLASSES,
    CombinerLimits,
    Limit,
    MeasuringSet,
    StringLimits,
    electrical_limits,
)
from viewer.physics.nomenclature import with_minus
from viewer.site_data.text_catalogue import texts
from viewer.state.session import Session
from viewer.widgets.controls.binding import follow
from viewer.widgets.controls.icons import icon
from viewer.widgets.controls.number_box import number_box
from viewer.widgets.controls.plain_rows import spoken
from viewer.widgets.controls.table_and_words import TableAndWords
from viewer.widgets.controls.theme import MEDIUM, SMALL, Look, figures_font
from viewer.widgets.controls.when_seen import WhenSeen

HEADINGS = (
    "Combiner",
    "String",
    "Voc STC (V)",
    "Voc max (V)",
    "NEC (V)",
    "1.25 Isc (A)",
    "Ratings",
)
_STATES = ("within", "near", "exceeds")
_ICONS = {
    "exceeds": "level_short",
    "near": "level_watch",
    "within": "level_expected",
    "open": "level_unknown",
}
NUMBERS = slice(2, 6)


class LimitsPane(QWidget):
    def __init__(self, session: Session, look: Look, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._session = session
        self._look = look
        self.lowest = number_box("Lowest temperature on record", "°C", -60, 40, -10)
        self.equipment = QComboBox(self)
        self.combiner_amps = number_box("Combiner current rating", "A", 0, 5000, 0)
        self.meter_volts = number_box("Measuring set, volts", "V", 0, 3000, 0, 0)
        self.meter_amps = number_box("Measuring set, amperes", "A", 0, 1000, 0)
        self.category = QLineEdit(self)
        self.name = QLineEdit(self)
        self.table = QTableWidget(0, len(HEADINGS), self)
        self.said = QTextBrowser(self)
        self._lay_out()
        for box in (self.lowest, self.combiner_amps, self.meter_volts, self.meter_amps):
            box.valueChanged.connect(self._entered)
        self.equipment.currentIndexChanged.connect(self._entered)
        for line in (self.category, self.name):
            line.textChanged.connect(self._entered)
        self._later = WhenSeen(self, self.refill)
        follow(self, session.site_changed, self._later.ask)
        follow(self, session.settings.changed, self._show_ratings)
        self._show_ratings()
        follow(self, look.theme.changed, self._later.ask)
        self._later.ask()

    def _lay_out(self) -> None:
        for box in (self.combiner_amps, self.meter_volts, self.meter_amps):
            box.setSpecialValueText(f"{box.suffix().strip()} not given")
        self.equipment.setAccessibleName("Voltage rating of the equipment")
        for rating in RATING_CLASSES:
            self.equipment.addItem(f"{rating:.0f} V DC", rating)
        self.category.setAccessibleName("Measurement category of the measuring set")
        self.name.setAccessibleName("Name of the measuring set")
        self.name.setPlaceholderText("its name")
        self.category.setPlaceholderText("as printed")
        self.table.setHorizontalHeaderLabels(list(HEADINGS))
        self.table.setAccessibleName("Highest values of each string")
        self.table.setEditTriggers(QAbstractItemView.EditTrigger.NoEditTriggers)
        self.table.setSelectionBehavior(QAbstractItemView.SelectionBehavior.SelectRows)
        self.table.verticalHeader().hide()
        header = self.table.horizontalHeader()
        header.setSectionResizeMode(QHeaderView.ResizeMode.Interactive)
        header.setStretchLastSection(True)
        self.table.setWordWrap(False)
        rows = self.table.verticalHeader()
        rows.setSectionResizeMode(QHeaderView.ResizeMode.Fixed)
        rows.setDefaultSectionSize(self.fontMetrics().height() + SMALL)
        self.said.setAccessibleName("Sums, notes and cautions")
        self.said.setFrameShape(QFrame.Shape.NoFrame)
        column = QVBoxLayout(self)
        column.setContentsMargins(MEDIUM, MEDIUM, MEDIUM, SMALL)
        column.setSpacing(SMALL)
        column.addLayout(self._ratings_rows())
        column.addWidget(TableAndWords(self.table, self.said, self), 1)

    def _ratings_rows(self) -> QGridLayout:
        """What stands on the plant in one line, what stands on the measuring set in another."""
        lines: tuple[tuple[tuple[str, tuple[QWidget, ...]], ...], ...] = (
            (
                ("Lowest on record", (self.lowest,)),
                ("Equipment rated", (self.equipment,)),
                ("Combiner rated", (self.combiner_amps,)),
            ),
            (
                ("Measuring set", (self.name,)),
                ("up to", (self.meter_volts, self.meter_amps)),
                ("Category", (self.category,)),
            ),
        )
        grid = QGridLayout()
        grid.setSpacing(SMALL)
        for row, line in enumerate(lines):
            for place, (title, fields) in enumerate(line):
                label = QLabel(title, self)
                label.setBuddy(fields[0])
                grid.addWidget(label, row, 2 * place)
                held = QHBoxLayout()
                held.setSpacing(SMALL)
                for field in fields:
                    held.addWidget(field)
                grid.addLayout(held, row, 2 * place + 1)
                grid.setColumnStretch(2 * place + 1, 2 if len(fields) == 1 else 3)
        return grid

    def _show_ratings(self, *_: object) -> None:
        """The ratings as the settings have them; the table follows when one differs."""
        settings = self._session.settings.value
        before = self._ratings()
        boxes = (
            (self.lowest, settings.lowest_temperature),
            (self.combiner_amps, settings.combiner_amps),
            (self.meter_volts, settings.meter_volts),
            (self.meter_amps, settings.meter_amps),
        )
        for box, value in boxes:
            with QSignalBlocker(box):
                box.setValue(value)
        for line, text in (
            (self.category, settings.meter_category),
            (self.name, settings.meter_name),
        ):
            if line.text().strip() != text:
                with QSignalBlocker(line):
                    line.setText(text)
        with QSignalBlocker(self.equipment):
            self.equipment.setCurrentIndex(self.equipment.findData(settings.equipment_volts))
        if self._ratings() != before:
            self._later.ask()

    def _ratings(self) -> dict[str, Any]:
        return {
            "lowest_temperature": self.lowest.value(),
            "equipment_volts": self.equipment.currentData(),
            "combiner_amps": self.combiner_amps.value(),
            "meter_volts": self.meter_volts.value(),
            "meter_amps": self.meter_amps.value(),
            "meter_category": self.category.text().strip(),
            "meter_name": self.name.text().strip(),
        }

    def _entered(self, *_: object) -> None:
        settings = self._session.settings
        settings.value = replace(settings.value, **self._ratings())
        self.refill()

    def limits(self) -> tuple[CombinerLimits, ...]:
        """The limits of the open site at the ratings entered."""
        layout = self._session.layout
        if layout is None:
            return ()
        volts, amps = self.meter_volts.value(), self.meter_amps.value()
        words = (self.name.text().strip(), self.category.text().strip())
        name = " ".join(("the measuring set", *(one for one in words if one)))
        meter = MeasuringSet(
            name, volts or float("inf"), amps or float("inf"), self.category.text()
        )
        return electrical_limits(
            layout,
            self.lowest.value(),
            self.equipment.currentData(),
            self.combiner_amps.value() or None,
            meter if volts or amps else None,
        )

    def _is_set_rated(self) -> bool:
        return self.meter_volts.value() > 0 and self.meter_amps.value() > 0

    def refill(self, *_: object) -> None:
        boxes = self.limits()
        rows = [row for box in boxes for row in box.strings]
        self.table.setRowCount(len(rows))
        for number, row in enumerate(rows):
            self._fill_row(number, row)
        self.table.resizeColumnsToContents()  # once, not at every cell
        self.said.setPlainText(self._words(boxes))

    def _fill_row(self, number: int, row: StringLimits) -> None:
        state, words = worst_state(row.limits, self._is_set_rated())
        nec = "–" if row.v_oc_max_nec is None else f"{row.v_oc_max_nec:.0f}"
        cells = (
            row.combiner,
            row.string,
            f"{row.v_oc_stc:.0f}",
            f"{row.v_oc_max:.0f}",
            nec,
            f"{row.i_sc_max:.2f}",
            words,
        )
        for column, text in enumerate(cells):
            item = QTableWidgetItem(text)
            if column in range(*NUMBERS.indices(len(HEADINGS))):
                item.setTextAlignment(Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter)
                item.setFont(figures_font())
                item.setData(Qt.ItemDataRole.AccessibleTextRole, spoken(HEADINGS[column], text))
            if column == len(HEADINGS) - 1 and state:
                name = _ICONS[state]
                item.setIcon(icon(name, self._look.theme.value.level(name.removeprefix("level_"))))
                item.setToolTip(with_minus("\n".join(limit.text for limit in row.limits)))
            self.table.setItem(number, column, item)

    def _words(self, boxes: tuple[CombinerLimits, ...]) -> str:
        catalogue = texts()
        lines = [
            f"{box.combiner}: sum of 1.25 Isc {box.i_sc_sum:.1f} A"
            + "".join(f"; {catalogue['limits'][one.state]}: {one.text}" for one in box.limits)
            for box in boxes
        ]
        if boxes and not self._is_set_rated():
            lines.insert(0, catalogue["limits"]["set_not_rated"])
        remarks = dict.fromkeys(said for box in boxes for s in box.strings for said in s.remarks)
        lines += [f"Note: {remark}." for remark in remarks]
        lines += [catalogue["limits"]["note"], "", catalogue["cautions"]["heading"]]
        lines += [f"• {sentence}" for sentence in catalogue["cautions"]["sentences"]]
        return with_minus("\n".join(lines))


def worst_state(limits: tuple[Limit, ...], set_rated: bool) -> tuple[str, str]:
    """The worst state among the limits, and the limits in that state in words.

    "open" where nothing is near its rating but that of the measuring set is not known.
    """
    if not limits:
        return "", "no rating given"
    state = max((limit.state for limit in limits), key=_STATES.index)
    word = texts()["limits"][state]
    if state == "within":
        return (
            (state, word) if set_rated else ("open", f"{word} equipment; measuring set not given")
        )
    said: dict[str, list[str]] = {}
    for limit in limits:
        if limit.state == state:
            decimals = 0 if limit.unit == "V" else 1
            value, rating = f"{limit.value:.{decimals}f}", f"{limit.rating:.{decimals}f}"
            said.setdefault(limit.whose, []).append(f"{value} of {rating} {limit.unit}")
    lines = [f"{word} {one}: {', '.join(parts)}" for one, parts in said.items()]
    return state, "; ".join([*lines, *([] if set_rated else ["set not given"])])

"""Where names, time and conditions stand: a row for each field of a recipe."""

from dataclasses import replace

from PySide6.QtCore import QObject, QSignalBlocker, Signal
from PySide6.QtWidgets import QComboBox, QGridLayout, QLabel, QLineEdit

from viewer.reading.notation.column_words import UNIT_KIND
from viewer.reading.notation.units import unit_of
from viewer.reading.recipes.recipe import FIELDS, FieldSource
from viewer.reading.tables.raw_table import RawTable
from viewer.state.importing.recipe_words import FIELD_UNITS, FIELD_WORDS
from viewer.widgets.controls.binding import fill_choices
from viewer.widgets.controls.theme import MEDIUM

NOT_GIVEN = ""
KINDS: tuple[tuple[str, str], ...] = (
    ("–", NOT_GIVEN),
    ("line", "keys"),
    ("column", "columns"),
    ("value", "value"),
)
CHOOSE = "choose…"
BETWEEN = "\n"
"""Stands between names that are put together; no heading holds it."""
TIME_HINT = "%d.%m.%Y"


class FieldRow(QObject):
    """The controls of one field; `edited` passes its name and the FieldSource or None."""

    edited = Signal(str, object)

    def __init__(self, name: str, grid: QGridLayout, place: int, parent: QObject) -> None:
        super().__init__(parent)
        self.name = name
        words = FIELD_WORDS[name]
        self.kind = QComboBox()
        self.where = QComboBox()
        self.detail = QLineEdit()
        self._source = FieldSource()
        self._table: RawTable | None = None
        self.kind.setAccessibleName(f"{words}: where it stands")
        self.kind.setToolTip("Nowhere, in a line of the file, in a column, or one value for all")
        self.where.setAccessibleName(f"{words}: which")
        for box, letters in ((self.kind, 5), (self.where, 6)):
            box.setMinimumContentsLength(letters)
            box.setSizeAdjustPolicy(
                QComboBox.SizeAdjustPolicy.AdjustToMinimumContentsLengthWithIcon
            )
        fill_choices(self.kind, KINDS, NOT_GIVEN)
        label = QLabel(words)
        label.setWordWrap(True)
        label.setFixedWidth(17 * label.fontMetrics().averageCharWidth())
        for column, widget in enumerate((label, self.kind, self.where, self.detail)):
            grid.addWidget(widget, place, column)
        self._set_up_detail(words)
        self.kind.activated.connect(self._kind_chosen)
        self.where.activated.connect(self._where_chosen)
        self.where.editTextChanged.connect(self._typed)
        self.detail.textEdited.connect(self._detail_typed)

    def _set_up_detail(self, words: str) -> None:
        """Units for conditions, how it is written for the time, nothing for other names."""
        unit = FIELD_UNITS.get(self.name, "")
        self.detail.setPlaceholderText(TIME_HINT if self.name == "measured_at" else unit)
        self.detail.setAccessibleName(f"{words}: {'pattern' if not unit else 'unit'}")
        self.detail.setToolTip(
            "Its unit; empty for the one the file gives, else the one shown"
            if unit
            else "How it is written, such as %d.%m.%Y %H:%M; empty for the usual ways"
        )
        if not unit and self.name != "measured_at":
            self.detail.hide()
        widest = self.detail.fontMetrics().horizontalAdvance(TIME_HINT)
        self.detail.setFixedWidth(widest + 2 * MEDIUM)

    def show_source(self, source: FieldSource | None, table: RawTable | None) -> None:
        """What the recipe says, and the choices that the file offers."""
        self._source, self._table = source or FieldSource(), table
        kind = next((one for _, one in KINDS if one and getattr(self._source, one)), "")
        fill_choices(self.kind, KINDS, kind)
        self._fill_where(kind)
        detail = self._source.pattern if self.name == "measured_at" else self._source.unit
        if self.detail.text() != detail:
            self.detail.setText(detail)

    def _fill_where(self, kind: str) -> None:
        with QSignalBlocker(self.where):
            self.where.setEnabled(bool(kind))
            self.where.setEditable(kind == "value")
            if kind == "value":
                if self.where.currentText() != self._source.value or self.where.count():
                    self.where.clear()
                    self.where.setEditText(self._source.value)
                line = self.where.lineEdit()
                assert line is not None
                line.setPlaceholderText("value")
                return
            now = BETWEEN.join(getattr(self._source, kind)) if kind else ""
            fill_choices(self.where, self._offered(kind, now), now)
        self.where.setToolTip(self.where.currentText())

    def _offered(self, kind: str, now: str) -> list[tuple[str, object]]:
        """The lines or columns of the file; what the recipe names comes first if it is none."""
        table = self._table
        if table is None or not kind:
            return []
        if kind == "keys":
            found = {one.key: f"{one.key}: {one.text[:40]}" for one in table.keys}
        else:
            found = {name: name for name in table.names if name}
        if now not in found:
            found = {now: now.replace(BETWEEN, " + ") or CHOOSE, **found}
        return [(words, names) for names, words in found.items()]

    def _kind_chosen(self, _: int) -> None:
        kind = self.kind.currentData()
        self._source = FieldSource()
        self._fill_where(kind)
        if kind == NOT_GIVEN:
            self.edited.emit(self.name, None)
        else:
            self.where.setFocus()

    def _where_chosen(self, _: int) -> None:
        names = self.where.currentData()
        if names and self.kind.currentData() in ("keys", "columns"):
            self._give(**{self.kind.currentData(): tuple(names.split(BETWEEN))})

    def _typed(self, text: str) -> None:
        if self.kind.currentData() == "value" and text.strip():
            self._give(value=text.strip())

    def _detail_typed(self, text: str) -> None:
        if self._source == FieldSource():
            return
        if self.name == "measured_at":
            self._give(pattern=text.strip())
        elif not text.strip() or self._is_unit(text.strip()):
            self._give(unit=text.strip())

    def _is_unit(self, text: str) -> bool:
        """A unit that is still being typed is not passed on."""
        known = unit_of(text)
        return known is not None and known.kind == UNIT_KIND.get(self.name)

    def _give(self, **changes: object) -> None:
        self._source = replace(self._source, **changes)  # type: ignore[arg-type]
        self.edited.emit(self.name, self._source)


def field_rows(grid: QGridLayout, parent: QObject) -> dict[str, FieldRow]:
    """A row for every field, in the order of recipes."""
    grid.setColumnStretch(2, 1)
    return {name: FieldRow(name, grid, at, parent) for at, name in enumerate(FIELDS)}

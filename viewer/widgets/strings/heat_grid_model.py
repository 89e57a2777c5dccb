"""The deviation grid as a Qt model: printed value, deviation and what a cell means."""

import math

from PySide6.QtCore import QAbstractTableModel, QModelIndex, QObject, QPersistentModelIndex, Qt

from viewer.physics.nomenclature import KEY_POINTS
from viewer.state.strings.deviation_grid import DeviationGrid, GridSignature
from viewer.state.strings.names_in_combiner import letters_in_common
from viewer.state.strings.signature_words import KIND_HEADINGS, KIND_MEANINGS

Index = QModelIndex | QPersistentModelIndex
ROLE = Qt.ItemDataRole
NOWHERE = QModelIndex()
DEVIATION = int(ROLE.UserRole) + 1
"""Role under which a cell gives its deviation in percent (NaN where unknown)."""


class HeatGridModel(QAbstractTableModel):
    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self.grid: DeviationGrid | None = None
        self._places: dict[str, int] = {}
        self._left_off = 0
        self._printed = "deviation"

    def show_printed(self, printed: str) -> None:
        """What cells print, a key of PRINTED: headings name its unit."""
        if printed != self._printed:
            self._printed = printed
            self.headerDataChanged.emit(Qt.Orientation.Horizontal, 0, self.columnCount() - 1)

    def show_grid(self, grid: DeviationGrid | None) -> None:
        self.beginResetModel()
        self.grid = grid
        rows = grid.rows if grid else ()
        self._places = {
            row.trace_id: place for place, row in enumerate(rows) if row.trace_id is not None
        }
        self._left_off = (
            letters_in_common(grid.combiner, [row.string for row in rows]) if grid else 0
        )
        self.endResetModel()

    def row_of(self, trace_id: str) -> int | None:
        return self._places.get(trace_id)

    def trace_of(self, row: int) -> str | None:
        if self.grid is None or not 0 <= row < len(self.grid.rows):
            return None
        return self.grid.rows[row].trace_id

    def rowCount(self, parent: Index = NOWHERE) -> int:
        return 0 if parent.isValid() or self.grid is None else len(self.grid.rows)

    def columnCount(self, parent: Index = NOWHERE) -> int:
        if parent.isValid():
            return 0
        return len(KEY_POINTS) + (len(self.grid.kinds) if self.grid is not None else 0)

    def _kind(self, column: int) -> str:
        assert self.grid is not None
        return self.grid.kinds[column - len(KEY_POINTS)]

    def headerData(
        self, section: int, orientation: Qt.Orientation, role: int = ROLE.DisplayRole
    ) -> object:
        if orientation == Qt.Orientation.Horizontal:
            if role == ROLE.DisplayRole:
                return self._heading(section)
            if role == ROLE.ToolTipRole:
                return self._heading_meaning(section)
            return None
        if self.grid is None:
            return None
        whole = self.grid.names[section]
        if role == ROLE.DisplayRole:
            return whole[self._left_off :]
        return whole if role in (ROLE.ToolTipRole, ROLE.AccessibleTextRole) else None

    def _heading(self, column: int) -> str:
        """With the unit of what the cells print; where they print both, deviations bear theirs.

        Kinds of signature differ in what they print where no power is lost by them.
        """
        if column >= len(KEY_POINTS):
            return KIND_HEADINGS[self._kind(column)]
        one = KEY_POINTS[column]
        if self._printed == "deviation":
            return f"{one.label} (%)"
        return one.heading

    def _heading_meaning(self, column: int) -> str:
        if column >= len(KEY_POINTS):
            kind = self._kind(column)
            return f"{KIND_MEANINGS[kind]}: power lost by it in % of the predicted"
        basis = self.grid.basis if self.grid is not None else ""
        meaning = KEY_POINTS[column].meaning
        return f"{meaning}; deviation in %: {basis}" if basis else meaning

    def data(self, index: Index, role: int = ROLE.DisplayRole) -> object:
        if self.grid is None:
            return None
        place = index.row(), index.column()
        if place[1] >= len(KEY_POINTS):
            row = self.grid.rows[place[0]]
            kind = self._kind(place[1])
            if role == ROLE.AccessibleTextRole:
                found = row.signatures.get(kind)
                words = found.words if found is not None else "not shown"
                return f"{self.grid.names[place[0]]}: {KIND_HEADINGS[kind]}, {words}"
            return signature_data(row.signatures.get(kind), role)
        if role == ROLE.DisplayRole:
            return KEY_POINTS[place[1]].text(float(self.grid.measured[place]))
        if role == DEVIATION:
            return float(self.grid.deviation[place])
        if role in (ROLE.ToolTipRole, ROLE.AccessibleTextRole):
            return self._meaning(*place)
        return None

    def _meaning(self, row: int, column: int) -> str:
        assert self.grid is not None
        one, name = self.grid.rows[row], KEY_POINTS[column]
        if one.trace_id is None:
            return f"{one.string}: no trace in the shown visit"
        value = name.text(float(self.grid.measured[row, column]))
        text = f"{self.grid.names[row]}: {name.label} {value} {name.unit}".rstrip()
        deviation = float(self.grid.deviation[row, column])
        return f"{text}, {percent(deviation)} ({self.grid.basis})"


def signature_data(found: GridSignature | None, role: int) -> object:
    """What the cell of a kind of signature says; nothing where the string does not show it."""
    if role == ROLE.DisplayRole:
        return found.text if found is not None else ""
    if role == DEVIATION:
        return found.share if found is not None else math.nan
    if role == ROLE.ToolTipRole:
        return found.words if found is not None else "not shown by this string"
    return None


def percent(deviation: float) -> str:
    """A deviation in percent with its sign; an en dash when it is not known."""
    text = signed(deviation)
    return f"{text} %" if math.isfinite(deviation) else text


def signed(deviation: float) -> str:
    """The same without the unit, for columns that name it."""
    if not math.isfinite(deviation):
        return "–"
    rounded = round(deviation, 1)
    sign = "−" if rounded < 0 else "+" if rounded > 0 else "±"
    return f"{sign}{abs(rounded):.1f}"

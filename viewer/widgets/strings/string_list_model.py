"""The string list's rows as a Qt model: read-only, arranged elsewhere."""

from collections.abc import Sequence

from PySide6.QtCore import QAbstractTableModel, QModelIndex, QObject, QPersistentModelIndex, Qt

from viewer.physics.nomenclature import quantity
from viewer.state.strings.string_rows import StringRow, moment_of
from viewer.state.strings.times_of_day import days_told, names_told
from viewer.widgets.controls.icons import icon
from viewer.widgets.controls.theme import LIGHT, Theme

Index = QModelIndex | QPersistentModelIndex
ROLE = Qt.ItemDataRole
NOWHERE = QModelIndex()

COLUMNS: tuple[tuple[str, str, str], ...] = (
    ("combiner", "Combiner", "The combiner box the string ends in"),
    ("string", "String", "The traced string"),
    ("day", "Day", "When it was measured; with the time where a string has several of that day"),
    (
        "power_ratio",
        "Power ratio",
        "Measured over predicted Pmp, at the conditions of the sweep",
    ),
    ("standing", "Status", "What the power ratio and the condition checks say of the string"),
    (
        "first_cause",
        "Cause",
        "The costliest of the likely causes, or what was found in the field: after a tick in a "
        "ring when it was confirmed, after an arrow in a frame when it was corrected",
    ),
)
"""Sort key, heading and tooltip of each column."""
SPOKEN = {"power_ratio": "power ratio", "first_cause": "first cause"}
"""What a screen reader says before a cell that would not explain itself."""
RATIO_TIP = "Pmp measured / Pmp predicted, both at the conditions of the sweep"


class StringListModel(QAbstractTableModel):
    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._rows: tuple[StringRow, ...] = ()
        self._with_days = True
        self._told: dict[str, list[str]] = {}
        """Texts of columns that depend on the other rows."""
        self._places: dict[str, int] = {}
        self._theme: Theme = LIGHT
        self._settled_in_words = False

    def show_rows(self, rows: Sequence[StringRow], with_days: bool = True) -> None:
        """`with_days`: whether days have their column; else names tell of them where need be."""
        if (tuple(rows), with_days) == (self._rows, self._with_days):
            return
        self.beginResetModel()
        self._rows = tuple(rows)
        self._with_days = with_days
        moments = list(map(moment_of, self._rows))
        self._told = {"day": days_told(moments)} if with_days else {"string": names_told(moments)}
        self._places = {row.trace_id: place for place, row in enumerate(self._rows)}
        self.endResetModel()

    def set_theme(self, theme: Theme) -> None:
        self._theme = theme
        if self._rows:
            self.dataChanged.emit(self.index(0, 0), self.index(len(self._rows) - 1, 0))

    def say_settled(self, in_words: bool) -> None:
        """Whether a settled cause is called so in words, too, where they have room."""
        if in_words != self._settled_in_words:
            self._settled_in_words = in_words
            if self._rows:
                last = len(COLUMNS) - 1
                self.dataChanged.emit(self.index(0, last), self.index(len(self._rows) - 1, last))

    def row_of(self, trace_id: str) -> int | None:
        return self._places.get(trace_id)

    def longest_told(self, column: str) -> str:
        """The longest text in the column of strings or of days that tells more than these."""
        texts = zip(self._told.get(column, ()), self._rows, strict=False)
        return max((one for one, row in texts if one != getattr(row, column)), key=len, default="")

    def trace_of(self, row: int) -> str | None:
        return self._rows[row].trace_id if 0 <= row < len(self._rows) else None

    def rowCount(self, parent: Index = NOWHERE) -> int:
        return 0 if parent.isValid() else len(self._rows)

    def columnCount(self, parent: Index = NOWHERE) -> int:
        return 0 if parent.isValid() else len(COLUMNS)

    def headerData(
        self, section: int, orientation: Qt.Orientation, role: int = ROLE.DisplayRole
    ) -> object:
        if orientation != Qt.Orientation.Horizontal:
            return None
        if role == ROLE.DisplayRole:
            return COLUMNS[section][1]
        if role == ROLE.ToolTipRole:
            return COLUMNS[section][2]
        if role == ROLE.TextAlignmentRole and COLUMNS[section][0] == "power_ratio":
            return int(Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter)
        return None

    def data(self, index: Index, role: int = ROLE.DisplayRole) -> object:
        row, column = self._rows[index.row()], COLUMNS[index.column()][0]
        if role == ROLE.DisplayRole:
            if column == "first_cause" and row.settled and self._settled_in_words:
                return f"{row.first_cause} ({row.settled})"
            told = self._told.get(column)
            return told[index.row()] if told is not None else _text(row, column)
        if role == ROLE.TextAlignmentRole and column == "power_ratio":
            return int(Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter)
        if role == ROLE.DecorationRole and column == "standing":
            level = row.standing.level
            return icon(f"level_{level}", self._theme.level(level))
        if column == "first_cause" and row.settled:
            if role == ROLE.DecorationRole:
                return icon(f"settled_{row.settled}", self._theme.text)
            if role == ROLE.AccessibleTextRole:
                return f"cause {row.first_cause}, {row.settled} in the field"
            if role == ROLE.ToolTipRole:
                return f"{row.settled.capitalize()} in the field: {row.first_cause}\n{row.trace_id}"
        if role == ROLE.AccessibleTextRole and column in SPOKEN:
            return f"{SPOKEN[column]} {_text(row, column)}" if _text(row, column) else None
        if role == ROLE.ToolTipRole:
            return f"{RATIO_TIP}\n{row.trace_id}" if column == "power_ratio" else row.trace_id
        return None


def _text(row: StringRow, column: str) -> str:
    if column == "power_ratio":
        return quantity("power_ratio").text(row.power_ratio)
    if column == "standing":
        return row.standing.words
    return str(getattr(row, column))

"""The key points of the current trace as a Qt model."""

from collections.abc import Sequence

from PySide6.QtCore import QAbstractTableModel, QModelIndex, QObject, QPersistentModelIndex, Qt

from viewer.state.strings.key_point_lines import KeyPointLine
from viewer.widgets.strings.heat_grid_model import percent

Index = QModelIndex | QPersistentModelIndex
ROLE = Qt.ItemDataRole
NOWHERE = QModelIndex()
NAN = float("nan")

COLUMNS: tuple[tuple[str, str, str], ...] = (
    (
        "measured",
        "Measured",
        "From one diode's curve fitted to the sweep; at a step, from parts",
    ),
    ("predicted", "Predicted", "The datasheet's single-diode model at the sweep's conditions"),
    ("difference", "Difference", "Measured over predicted, less one, in %"),
    ("translated", "At STC", "The measured curve translated to 1000 W/m² and 25 °C (IEC 60891)"),
    ("rated", "Datasheet", "The datasheet's STC value times modules in series and in parallel"),
)


class KeyPointModel(QAbstractTableModel):
    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._lines: tuple[KeyPointLine, ...] = ()

    def show_lines(self, lines: Sequence[KeyPointLine]) -> None:
        same_shape = len(lines) == len(self._lines)
        if not same_shape:
            self.beginResetModel()
        self._lines = tuple(lines)
        if not same_shape:
            self.endResetModel()
        elif lines:
            last = self.index(len(lines) - 1, len(COLUMNS) - 1)
            self.dataChanged.emit(self.index(0, 0), last)

    def rowCount(self, parent: Index = NOWHERE) -> int:
        return 0 if parent.isValid() else len(self._lines)

    def columnCount(self, parent: Index = NOWHERE) -> int:
        return 0 if parent.isValid() else len(COLUMNS)

    def headerData(
        self, section: int, orientation: Qt.Orientation, role: int = ROLE.DisplayRole
    ) -> object:
        if orientation == Qt.Orientation.Horizontal:
            if role == ROLE.DisplayRole:
                return COLUMNS[section][1]
            return COLUMNS[section][2] if role == ROLE.ToolTipRole else None
        quantity = self._lines[section].quantity
        if role == ROLE.DisplayRole:
            return quantity.heading
        return quantity.meaning if role == ROLE.ToolTipRole else None

    def data(self, index: Index, role: int = ROLE.DisplayRole) -> object:
        line, column = self._lines[index.row()], COLUMNS[index.column()][0]
        if role == ROLE.TextAlignmentRole:
            return int(Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter)
        if role == ROLE.DisplayRole:
            return _printed(line, column)
        if role in (ROLE.AccessibleTextRole, ROLE.ToolTipRole):
            unit = "" if column == "difference" else line.quantity.unit
            heading = COLUMNS[index.column()][1]
            what = f"{line.quantity.label} {heading[0].lower()}{heading[1:]}"
            said = f"{what}: {_printed(line, column)} {unit}".rstrip()
            if role == ROLE.AccessibleTextRole:
                return said
            return f"{said}\n{line.quantity.meaning}\n{COLUMNS[index.column()][2]}"
        return None


def _printed(line: KeyPointLine, column: str) -> str:
    if column == "difference":
        return percent(NAN if line.difference is None else 100 * line.difference)
    return line.quantity.text(getattr(line, column))

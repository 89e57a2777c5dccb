"""Changes from visit to visit as a Qt model: percent, uncertainty, a shape and words."""

from collections.abc import Sequence

from PySide6.QtCore import QAbstractTableModel, QModelIndex, QObject, QPersistentModelIndex, Qt
from PySide6.QtGui import QFont

from viewer.analysis.years.baseline_change import Change, StringChange
from viewer.analysis.years.sample_plan import Place
from viewer.physics.nomenclature import KEY_POINT_NAMES, quantity, with_minus
from viewer.reports.curve_figure import place_name
from viewer.state.session import Session
from viewer.state.visit_comparison import sorted_changes, verdict

Index = QModelIndex | QPersistentModelIndex
ROLE = Qt.ItemDataRole
NOWHERE = QModelIndex()
SHOWN = ("p_mp", *(name for name in KEY_POINT_NAMES if name != "p_mp"))
COLUMNS = ("place", *SHOWN, "verdict")


class ChangeModel(QAbstractTableModel):
    """One row a string; either of its two traces being selected selects the row."""

    def __init__(self, session: Session, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._session = session
        self.changes: tuple[StringChange, ...] = ()
        self._by = ("p_mp", False)
        self._places: dict[Place, int] = {}
        self._bold = QFont()
        self._bold.setBold(True)

    def show_changes(self, changes: Sequence[StringChange]) -> None:
        self.beginResetModel()
        self.changes = tuple(sorted_changes(changes, *self._by))
        self._places = {one.place: place for place, one in enumerate(self.changes)}
        self.endResetModel()

    def sort(self, column: int, order: Qt.SortOrder = Qt.SortOrder.AscendingOrder) -> None:
        by = COLUMNS[column] if column >= 0 else "place"
        by = "p_mp" if by == "verdict" else by
        self._by = (by, order == Qt.SortOrder.DescendingOrder)
        self.show_changes(self.changes)

    def row_of(self, trace_id: str) -> int | None:
        result = self._session.result(trace_id)
        if result is None:
            return None
        return self._places.get(result.trace.place)

    def trace_of(self, row: int) -> str | None:
        return self.changes[row].now if 0 <= row < len(self.changes) else None

    def rowCount(self, parent: Index = NOWHERE) -> int:
        return 0 if parent.isValid() else len(self.changes)

    def columnCount(self, parent: Index = NOWHERE) -> int:
        return 0 if parent.isValid() else len(COLUMNS)

    def headerData(
        self, section: int, orientation: Qt.Orientation, role: int = ROLE.DisplayRole
    ) -> object:
        if orientation != Qt.Orientation.Horizontal:
            return None
        column = COLUMNS[section]
        if role == ROLE.DisplayRole:
            if column in SHOWN:
                return f"{quantity(column).label} (%)"
            return "String" if column == "place" else "Changed"
        if role == ROLE.ToolTipRole and column == "verdict":
            return "What changed beyond the uncertainty (k = 2)"
        if role == ROLE.ToolTipRole and column in SHOWN:
            return (
                f"{quantity(column).meaning}: change at STC in % of the earlier value, "
                "± expanded uncertainty (k = 2); ▼ or ▲ where it is beyond"
            )
        return None

    def data(self, index: Index, role: int = ROLE.DisplayRole) -> object:
        one, column = self.changes[index.row()], COLUMNS[index.column()]
        if column == "place":
            return place_name(one.place) if role == ROLE.DisplayRole else None
        if column == "verdict":
            return verdict(one) if role in (ROLE.DisplayRole, ROLE.ToolTipRole) else None
        change = one.change(column)
        if role == ROLE.DisplayRole:
            return change_text(change)
        if role == ROLE.TextAlignmentRole:
            return int(Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter)
        if role == ROLE.FontRole and change.is_beyond:
            return self._bold
        if role in (ROLE.ToolTipRole, ROLE.AccessibleTextRole):
            unit = quantity(column)
            whose = f"{' / '.join(one.place)}: " if role == ROLE.ToolTipRole else ""
            values = f"{unit.text(change.then)} → {unit.text(change.now)} {unit.unit}".rstrip()
            return f"{whose}{with_minus(change.text())}; {values} at STC"
        return None


def change_text(change: Change) -> str:
    """Such as `▼ −6.2 ± 3.9`; the shape only where the change is beyond the uncertainty."""
    shape = "" if not change.is_beyond else "▼ " if change.percent < 0 else "▲ "
    return with_minus(f"{shape}{change.percent:+.1f} ± {change.expanded:.1f}")

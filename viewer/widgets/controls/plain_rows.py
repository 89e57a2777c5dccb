"""Rows of words and numbers as a Qt model, each row standing for a string of the site."""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import partial

from PySide6.QtCore import QAbstractTableModel, QModelIndex, QObject, QPersistentModelIndex, Qt
from PySide6.QtWidgets import QAbstractItemView, QHeaderView, QTableView

from viewer.analysis.years.sample_plan import Place
from viewer.state.session import Session
from viewer.widgets.controls.theme import SMALL, figures_font

Index = QModelIndex | QPersistentModelIndex
ROLE = Qt.ItemDataRole
NOWHERE = QModelIndex()
LONGEST_NAME = 18
"""Letters of a string's name that its column makes room for."""


@dataclass(frozen=True)
class PlainRow:
    """Printed cells; the string it stands for; the trace that selecting it selects."""

    cells: tuple[str, ...]
    place: Place
    trace_id: str | None = None
    tip: str = ""


class PlainRows(QAbstractTableModel):
    """`numbers` are the columns that stand to the right; `meanings` the tooltips of headings."""

    def __init__(
        self,
        session: Session,
        headings: Sequence[str],
        numbers: Sequence[int],
        parent: QObject | None = None,
        meanings: Sequence[str] = (),
    ) -> None:
        super().__init__(parent)
        self._session = session
        self._headings = tuple(headings)
        self._numbers = frozenset(numbers)
        self._meanings = tuple(meanings)
        self.rows: tuple[PlainRow, ...] = ()
        self._places: dict[Place, int] = {}

    def show_rows(self, rows: Sequence[PlainRow]) -> None:
        self.beginResetModel()
        self.rows = tuple(rows)
        self._places = {one.place: place for place, one in enumerate(self.rows)}
        self.endResetModel()

    def row_of(self, trace_id: str) -> int | None:
        result = self._session.result(trace_id)
        if result is None:
            return None
        return self._places.get(result.trace.place)

    def trace_of(self, row: int) -> str | None:
        return self.rows[row].trace_id if 0 <= row < len(self.rows) else None

    def rowCount(self, parent: Index = NOWHERE) -> int:
        return 0 if parent.isValid() else len(self.rows)

    def columnCount(self, parent: Index = NOWHERE) -> int:
        return 0 if parent.isValid() else len(self._headings)

    def flags(self, index: Index) -> Qt.ItemFlag:
        flags = Qt.ItemFlag.ItemIsEnabled
        if index.isValid() and self.rows[index.row()].trace_id is not None:
            flags |= Qt.ItemFlag.ItemIsSelectable
        return flags

    def headerData(
        self, section: int, orientation: Qt.Orientation, role: int = ROLE.DisplayRole
    ) -> object:
        if orientation != Qt.Orientation.Horizontal:
            return None
        if role == ROLE.DisplayRole:
            return self._headings[section]
        if role == ROLE.ToolTipRole and section < len(self._meanings):
            return self._meanings[section]
        return None

    def data(self, index: Index, role: int = ROLE.DisplayRole) -> object:
        row = self.rows[index.row()]
        if role == ROLE.DisplayRole:
            return row.cells[index.column()]
        if role == ROLE.ToolTipRole:
            return row.tip or row.cells[index.column()]
        if role == ROLE.AccessibleTextRole and index.column() in self._numbers:
            return spoken(self._headings[index.column()], row.cells[index.column()])
        if role == ROLE.TextAlignmentRole and index.column() in self._numbers:
            return int(Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter)
        return None


def spoken(heading: str, cell: str) -> str:
    """A number with what it is and its unit, such as "Alone 4856 W" under "Alone (W)"."""
    what, _, unit = heading.partition(" (")
    return f"{what} {cell} {unit.removesuffix(')')}".rstrip()


def plain_table(model: QAbstractTableModel, title: str) -> QTableView:
    """A table of such rows or the like; `title` is what a screen reader says."""
    view = QTableView()
    view.setModel(model)
    view.setSelectionBehavior(QAbstractItemView.SelectionBehavior.SelectRows)
    view.setSelectionMode(QAbstractItemView.SelectionMode.ExtendedSelection)
    view.setAccessibleName(title)
    view.setShowGrid(False)
    view.setAlternatingRowColors(True)
    view.setWordWrap(False)
    view.setFont(figures_font())
    view.verticalHeader().hide()
    view.verticalHeader().setDefaultSectionSize(view.fontMetrics().height() + SMALL)
    view.verticalHeader().setSectionResizeMode(QHeaderView.ResizeMode.Fixed)
    view.horizontalHeader().setHighlightSections(False)
    view.horizontalHeader().setStretchLastSection(True)
    return view


def set_widths(view: QTableView, digits: Sequence[int], names: int | None = None) -> None:
    """Give the first columns room for so many digits each, never less than their headings need.

    The column of `names` of strings grows with them, for they tell the rows apart.
    """
    digit = view.fontMetrics().horizontalAdvance("0")
    header = view.horizontalHeader()
    header.ensurePolished()
    for column, count in enumerate(digits):
        view.setColumnWidth(column, max(count * digit, header.sectionSizeHint(column)))
    if names is not None:
        view.model().modelReset.connect(partial(_fit_names, view, names))


def _fit_names(view: QTableView, column: int) -> None:
    model = view.model()
    assert isinstance(model, PlainRows)
    longest = max((row.cells[column] for row in model.rows), key=len, default="")
    need = view.fontMetrics().horizontalAdvance(longest[:LONGEST_NAME]) + 3 * SMALL
    view.setColumnWidth(column, max(view.columnWidth(column), need))

"""The files of an import and what became of each, with a choice of which to list."""

from collections import Counter

from PySide6.QtCore import (
    QAbstractTableModel,
    QItemSelectionModel,
    QModelIndex,
    QObject,
    QPersistentModelIndex,
    Qt,
    Signal,
)
from PySide6.QtWidgets import (
    QAbstractItemView,
    QComboBox,
    QHeaderView,
    QLabel,
    QTableView,
    QVBoxLayout,
    QWidget,
)

from viewer.state.importing.import_files import ImportFiles
from viewer.state.importing.import_rows import (
    COPY,
    DOUBTFUL,
    FAILED,
    READ,
    STATES,
    WAITING,
    ImportRow,
)
from viewer.widgets.controls.binding import fill_choices, follow
from viewer.widgets.controls.icons import icon
from viewer.widgets.controls.theme import SMALL, Look

HEADINGS = ("File", "Result", "Traces", "Why")
LEVELS = {
    READ: "expected",
    DOUBTFUL: "watch",
    FAILED: "short",
    COPY: "unknown",
    WAITING: "unknown",
}
INVITATION = (
    "Drop files or folders here: text of any layout, workbooks, JSON, Parquet. "
    "They are only read, never changed."
)
Index = QModelIndex | QPersistentModelIndex
ROLE = Qt.ItemDataRole
NOWHERE = QModelIndex()


class ImportRows(QAbstractTableModel):
    """The files in one state, "" for all; filtered here, since a proxy asks row by row."""

    def __init__(self, files: ImportFiles, look: Look, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._files = files
        self._look = look
        self._state = ""
        self._rows: list[ImportRow] = []
        self._places: dict[str, int] = {}
        follow(self, files.changed, self.refill)
        follow(self, files.rows_changed, self.update_rows)
        self.refill()

    def choose(self, state: str) -> None:
        if state != self._state:
            self._state = state
            self.refill()

    def refill(self) -> None:
        self.beginResetModel()
        self._rows = [row for row in self._files.rows if self._state in ("", row.state)]
        self._places = {row.source: place for place, row in enumerate(self._rows)}
        self.endResetModel()

    def update_rows(self, names: tuple[str, ...]) -> None:
        """Rows in place; anew when some enter or leave the chosen state."""
        rows = [self._files.row(one) for one in names]
        if any((row.source in self._places) != (self._state in ("", row.state)) for row in rows):
            self.refill()
            return
        places = []
        for row in rows:
            if (place := self._places.get(row.source)) is not None:
                self._rows[place] = row
                places.append(place)
        if places:
            last = self.index(max(places), len(HEADINGS) - 1)
            self.dataChanged.emit(self.index(min(places), 0), last)

    def row(self, place: int) -> ImportRow:
        return self._rows[place]

    def place_of(self, name: str) -> int | None:
        return self._places.get(name)

    def rowCount(self, parent: Index = NOWHERE) -> int:
        return 0 if parent.isValid() else len(self._rows)

    def columnCount(self, parent: Index = NOWHERE) -> int:
        return 0 if parent.isValid() else len(HEADINGS)

    def headerData(
        self, section: int, orientation: Qt.Orientation, role: int = ROLE.DisplayRole
    ) -> object:
        if orientation != Qt.Orientation.Horizontal:
            return None
        if role == ROLE.ToolTipRole and section == len(HEADINGS) - 1:
            return "Why it was not read, and how to mend it"
        return HEADINGS[section] if role == ROLE.DisplayRole else None

    def data(self, index: Index, role: int = ROLE.DisplayRole) -> object:
        row = self._rows[index.row()]
        word = STATES[row.state]
        if role == ROLE.DisplayRole:
            return (row.source, word, row.what, row.why)[index.column()]
        if role == ROLE.ToolTipRole:
            return "\n".join(filter(None, (row.source, f"{word}, traces: {row.what}", row.why)))
        if role == ROLE.DecorationRole and index.column() == 1:
            level = LEVELS[row.state]
            return icon(f"level_{level}", self._look.theme.value.level(level))
        return None


class ImportList(QWidget):
    chosen = Signal(str)
    """The name of the file to preview."""

    def __init__(self, files: ImportFiles, look: Look, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._files = files
        self.rows = ImportRows(files, look, self)
        self.filter = QComboBox(self)
        self.filter.setAccessibleName("Which files to list")
        self.view = QTableView(self)
        self.invitation = QLabel(INVITATION, self)
        self._lay_out()
        self.filter.activated.connect(self._filter_chosen)
        self.view.selectionModel().currentRowChanged.connect(self._moved)
        follow(self, files.changed, self.count)
        follow(self, files.rows_changed, self.count)
        self.count()

    def _lay_out(self) -> None:
        self.view.setModel(self.rows)
        self.view.setAccessibleName("Files and what became of them")
        self.view.setSelectionBehavior(QAbstractItemView.SelectionBehavior.SelectRows)
        self.view.setSelectionMode(QAbstractItemView.SelectionMode.SingleSelection)
        self.view.setShowGrid(False)
        self.view.setAlternatingRowColors(True)
        self.view.setWordWrap(False)
        self.view.setTextElideMode(Qt.TextElideMode.ElideMiddle)
        rows = self.view.verticalHeader()
        rows.hide()
        rows.setSectionResizeMode(QHeaderView.ResizeMode.Fixed)
        rows.setDefaultSectionSize(self.view.fontMetrics().height() + SMALL)
        letter = self.view.fontMetrics().averageCharWidth()
        heads = self.view.horizontalHeader()
        heads.setHighlightSections(False)
        heads.setDefaultAlignment(Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter)
        heads.setStretchLastSection(True)
        for place, letters in enumerate((19, 13, 8)):
            self.view.setColumnWidth(place, letters * letter)
        self.invitation.setWordWrap(True)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(SMALL)
        column.addWidget(self.filter)
        column.addWidget(self.invitation)
        column.addWidget(self.view, 1)

    def count(self, *_: object) -> None:
        """How many files there are in each state."""
        states = Counter(row.state for row in self._files.rows)
        choices: list[tuple[str, object]] = [(f"All files ({states.total():,})", "")]
        choices += [
            (f"{words} ({states[state]:,})", state)
            for state, words in STATES.items()
            if state in states
        ]
        fill_choices(self.filter, choices, self.filter.currentData())
        self.rows.choose(self.filter.currentData() or "")
        self.invitation.setVisible(not states)

    def show_current(self, name: str | None) -> None:
        """Mark the file that is previewed."""
        place = self.rows.place_of(name) if name else None
        if place is None:
            return
        if place != self.view.currentIndex().row():
            flags = QItemSelectionModel.SelectionFlag
            self.view.selectionModel().setCurrentIndex(
                self.rows.index(place, 0), flags.ClearAndSelect | flags.Rows
            )

    def _filter_chosen(self, _: int) -> None:
        self.rows.choose(self.filter.currentData() or "")

    def _moved(self, index: QModelIndex, _: QModelIndex) -> None:
        if index.isValid():
            self.chosen.emit(self.rows.row(index.row()).source)

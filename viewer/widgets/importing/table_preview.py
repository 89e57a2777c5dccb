"""The first rows of a table as it stands in a file; each heading says what its column is."""

from collections.abc import Sequence

from PySide6.QtCore import QAbstractTableModel, QModelIndex, QObject, QPersistentModelIndex, Qt
from PySide6.QtCore import Signal as QtSignal
from PySide6.QtGui import QBrush, QColor
from PySide6.QtWidgets import (
    QAbstractItemView,
    QComboBox,
    QHeaderView,
    QMenu,
    QTableView,
    QVBoxLayout,
    QWidget,
)

from viewer.physics.nomenclature import counted
from viewer.reading.recipes.recipe import FIELDS
from viewer.reading.tables.raw_table import RawTable
from viewer.state.importing.recipe_edits import CURVE_ROLES, GROUP
from viewer.state.importing.recipe_words import FIELD_WORDS, GROUP_WORDS
from viewer.widgets.controls.binding import fill_choices, follow
from viewer.widgets.controls.theme import SMALL, Look, figures_font

FIRST_ROWS = 200
MOST_COLUMNS = 200
NOTHING = "–"
Index = QModelIndex | QPersistentModelIndex
ROLE = Qt.ItemDataRole
NOWHERE = QModelIndex()


class TableRows(QAbstractTableModel):
    """Cells as text; columns something is taken from are tinted."""

    def __init__(self, look: Look, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._look = look
        self.table: RawTable | None = None
        self.marks: tuple[str, ...] = ()

    def show_table(self, table: RawTable | None, marks: Sequence[str]) -> None:
        self.beginResetModel()
        self.table = table
        self.marks = tuple(marks)
        self.endResetModel()

    def rowCount(self, parent: Index = NOWHERE) -> int:
        if parent.isValid() or self.table is None:
            return 0
        return min(FIRST_ROWS, len(self.table.rows))

    def columnCount(self, parent: Index = NOWHERE) -> int:
        if parent.isValid() or self.table is None:
            return 0
        return min(MOST_COLUMNS, self.table.width)

    def headerData(
        self, section: int, orientation: Qt.Orientation, role: int = ROLE.DisplayRole
    ) -> object:
        if self.table is None:
            return None
        if orientation == Qt.Orientation.Vertical:
            return self.table.rows[section].line if role == ROLE.DisplayRole else None
        mark = self.marks[section]
        if role == ROLE.DisplayRole:
            return f"{self._title(section)}\n{mark or NOTHING}"
        if role == ROLE.ToolTipRole:
            said = f"is {mark}" if mark else "is not used"
            return f"{self.table.column_title(section)} {said}; click to change that"
        return None

    def _title(self, section: int) -> str:
        table = self.table
        assert table is not None
        unit = f" [{table.units[section]}]" if table.units[section] else ""
        return (table.names[section][:40] or f"column {section + 1}") + unit

    def data(self, index: Index, role: int = ROLE.DisplayRole) -> object:
        table = self.table
        if table is None:
            return None
        if role == ROLE.DisplayRole:
            cells = table.rows[index.row()].cells
            return cells[index.column()][:200] if index.column() < len(cells) else ""
        if role == ROLE.BackgroundRole and self.marks[index.column()]:
            return QBrush(QColor(self._look.theme.value.selected))
        if role == ROLE.TextAlignmentRole:
            return int(Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter)
        return None


class TablePreview(QWidget):
    """A click on a heading asks what the column is and passes the answer on."""

    role_chosen = QtSignal(int, str)
    """Column from 0; "voltage", "current", GROUP, a field's name or "" for nothing."""

    def __init__(self, look: Look, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._look = look
        self._tables: tuple[RawTable, ...] = ()
        self._marks: list[tuple[str, ...]] = []
        self.model = TableRows(look, self)
        self.chooser = QComboBox(self)
        self.chooser.setAccessibleName("Table of the file")
        self.view = QTableView(self)
        self.view.setModel(self.model)
        self.view.setAccessibleName("First rows of the file's table")
        self.view.setFont(figures_font())
        self.view.setWordWrap(False)
        self.view.setEditTriggers(QAbstractItemView.EditTrigger.NoEditTriggers)
        rows = self.view.verticalHeader()
        rows.setSectionResizeMode(QHeaderView.ResizeMode.Fixed)
        rows.setDefaultSectionSize(self.view.fontMetrics().height() + SMALL)
        heads = self.view.horizontalHeader()
        heads.setSectionsClickable(True)
        heads.setDefaultAlignment(Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter)
        heads.sectionClicked.connect(self._ask)
        self.chooser.activated.connect(self.show_chosen)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(SMALL)
        column.addWidget(self.chooser, 0, Qt.AlignmentFlag.AlignLeft)
        column.addWidget(self.view, 1)
        follow(self, look.theme.changed, self.show_chosen)

    def show_tables(
        self, tables: tuple[RawTable, ...], marks: list[tuple[str, ...]], first: int
    ) -> None:
        """The tables of a file with the marks of each; `first` is brought to the front."""
        before = self.chooser.currentIndex()
        kept = before if tables == self._tables and before >= 0 else first
        self._tables, self._marks = tables, marks
        choices = [(_name(number, one), number) for number, one in enumerate(tables)]
        fill_choices(self.chooser, choices, kept)
        self.chooser.setVisible(len(tables) > 1)
        self.show_chosen()

    def show_chosen(self, *_: object) -> None:
        at = self.chooser.currentIndex()
        if not 0 <= at < len(self._tables):
            self.model.show_table(None, ())
            return
        self.model.show_table(self._tables[at], self._marks[at])
        self.view.resizeColumnsToContents()

    @property
    def table(self) -> RawTable | None:
        return self.model.table

    def menu(self, column: int) -> QMenu:
        """What that column may be; entries pass the answer on."""
        made = QMenu(self)
        table = self.model.table
        named = table is not None and bool(table.names[column])
        self._entry(made, column, "Voltage", CURVE_ROLES[0])
        self._entry(made, column, "Current", CURVE_ROLES[1])
        made.addSeparator()
        for name in (GROUP, *FIELDS):
            words = GROUP_WORDS if name == GROUP else FIELD_WORDS[name]
            self._entry(made, column, words, name, enabled=named)
        made.addSeparator()
        self._entry(made, column, "Not used", "")
        return made

    def _entry(self, menu: QMenu, column: int, words: str, role: str, enabled: bool = True) -> None:
        action = menu.addAction(words)
        action.setEnabled(enabled)
        action.setCheckable(True)
        mark = self.model.marks[column]
        action.setChecked(mark == "" if not role else mark.startswith(words))
        action.triggered.connect(lambda _=False: self.role_chosen.emit(column, role))

    def _ask(self, column: int) -> None:
        header = self.view.horizontalHeader()
        place = header.mapToGlobal(header.rect().bottomLeft())
        place.setX(place.x() + header.sectionViewportPosition(column))
        menu = self.menu(column)
        menu.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        menu.popup(place)


def _name(number: int, table: RawTable) -> str:
    title = f" – {table.title[:40]}" if table.title else ""
    return f"Table {number + 1}: from {table.where()}, {counted(len(table.rows), 'row')}{title}"

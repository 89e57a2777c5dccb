"""The string list: every trace of the shown visit, with filter and sort."""

from PySide6.QtCore import QSignalBlocker, Qt, QTimer
from PySide6.QtGui import QShowEvent
from PySide6.QtWidgets import (
    QAbstractItemView,
    QComboBox,
    QHBoxLayout,
    QHeaderView,
    QLabel,
    QLineEdit,
    QTableView,
    QVBoxLayout,
    QWidget,
)

from viewer.analysis.results.trace_result import CAUSES
from viewer.state.session import Session
from viewer.state.strings.standing import LEVELS
from viewer.state.strings.string_rows import RowFilter, arranged, as_settled
from viewer.widgets.controls.binding import RowTie, fill_choices, follow
from viewer.widgets.controls.empty_words import EmptyWords
from viewer.widgets.controls.icons import SIZE
from viewer.widgets.controls.plain_rows import LONGEST_NAME
from viewer.widgets.controls.theme import MEDIUM, SMALL, Look
from viewer.widgets.controls.visit_chooser import VisitChooser
from viewer.widgets.strings.string_list_model import COLUMNS, StringListModel

LEVEL_WORDS: dict[str, str] = {
    "short": "short",
    "watch": "watch",
    "unsure": "check conditions",
    "expected": "as expected",
    "unknown": "no prediction",
}
STRING, DAY, CAUSE = (
    [one[0] for one in COLUMNS].index(key) for key in ("string", "day", "first_cause")
)
DAY_SAMPLE = "2025-06-24"
FILTER_PAUSE = 120
"""Milliseconds without a key before the list is filtered."""


class StringList(QWidget):
    def __init__(self, session: Session, look: Look, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._session = session
        self._look = look
        self._sort: tuple[str, bool] = ("combiner", False)
        self.model = StringListModel(self)
        self.view = QTableView(self)
        self.words = QLineEdit(self)
        self.combiner = QComboBox(self)
        self.level = QComboBox(self)
        self.count = QLabel(self)
        self._pause = QTimer(self)
        self._pause.setSingleShot(True)
        self._pause.setInterval(FILTER_PAUSE)
        self._pause.timeout.connect(self.arrange)
        self._set_up_view()
        self._lay_out()
        self.setFocusProxy(self.view)
        self._empty = EmptyWords(self.view, self._why_empty)
        self._tie = RowTie(self.view, session.selection)
        for notifier in (
            session.opened,
            session.arrived,
            session.choices.visit.changed,
            session.settled.changed,
        ):
            follow(self, notifier, self.arrange)
        follow(self, session.site_changed, self._fit_columns)
        follow(self, look.theme.changed, self.model.set_theme)
        self.model.set_theme(look.theme.value)
        self.arrange()

    def _set_up_view(self) -> None:
        view = self.view
        view.setModel(self.model)
        view.setSelectionBehavior(QAbstractItemView.SelectionBehavior.SelectRows)
        view.setSelectionMode(QAbstractItemView.SelectionMode.ExtendedSelection)
        view.setAccessibleName("Strings")
        view.setShowGrid(False)
        view.setAlternatingRowColors(True)
        view.setWordWrap(False)
        view.verticalHeader().hide()
        view.verticalHeader().setDefaultSectionSize(self.fontMetrics().height() + MEDIUM)
        view.verticalHeader().setSectionResizeMode(QHeaderView.ResizeMode.Fixed)
        header = view.horizontalHeader()
        header.setSectionsClickable(True)
        header.setSortIndicatorShown(True)
        header.setHighlightSections(False)
        header.setDefaultAlignment(Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter)
        header.setStretchLastSection(True)
        header.setSortIndicator(0, Qt.SortOrder.AscendingOrder)
        header.sortIndicatorChanged.connect(self._sort_by)
        header.sectionResized.connect(self._resized)

    def _lay_out(self) -> None:
        self.words.setPlaceholderText("Filter: words in any column")
        self.words.setClearButtonEnabled(True)
        self.words.setAccessibleName("Filter of the string list")
        self.words.textChanged.connect(lambda _: self._pause.start())
        self.combiner.setAccessibleName("Combiner shown in the list")
        self.level.setAccessibleName("Status shown in the list")
        levels = [("any status", None), *((LEVEL_WORDS[one], one) for one in LEVELS)]
        fill_choices(self.level, levels, None)
        for box in (self.combiner, self.level):
            box.setSizeAdjustPolicy(QComboBox.SizeAdjustPolicy.AdjustToContents)
            box.activated.connect(self.arrange)
        top = QHBoxLayout()
        top.setSpacing(SMALL)
        top.addWidget(VisitChooser(self._session, self))
        top.addWidget(self.combiner)
        top.addWidget(self.level)
        top.addStretch(1)
        second = QHBoxLayout()
        second.setSpacing(MEDIUM)
        second.addWidget(self.words, 1)
        second.addWidget(self.count)
        column = QVBoxLayout(self)
        column.setContentsMargins(MEDIUM, MEDIUM, MEDIUM, SMALL)
        column.setSpacing(SMALL)
        column.addLayout(top)
        column.addLayout(second)
        column.addWidget(self.view, 1)

    def _why_empty(self) -> str:
        if self._session.rows:
            return "No string passes the filter."
        return (
            "Once a site is open: every string that was traced, with its power ratio against the "
            "prediction, its status and the first candidate cause."
        )

    def showEvent(self, event: QShowEvent) -> None:
        super().showEvent(event)
        self._fit_columns()

    def _fit_columns(self, *_: object) -> None:
        """Widths from the words that the columns may hold, not from 20,000 rows; names of strings,
        which tell rows apart, are whole as far as LONGEST_NAME."""
        metrics = self.fontMetrics()
        layout = self._session.layout
        names = [one.name for box in layout.combiners for one in box.strings] if layout else []
        name = max(("CB-A-S100", *names), key=len)[:LONGEST_NAME]
        samples = ("Combiner ▾", name, DAY_SAMPLE, "Power ratio", "check conditions ◆ ")
        for column, sample in enumerate(samples):
            self.view.setColumnWidth(column, metrics.horizontalAdvance(sample) + MEDIUM + SMALL)
        self.view.setColumnWidth(len(samples), metrics.horizontalAdvance("Cause"))
        self._say_settled(self.view.columnWidth(CAUSE))  # Qt tells the last width too early

    def _make_room(self) -> None:
        """Wider where names or days tell a time of day, too."""
        for column, key in ((STRING, "string"), (DAY, "day")):
            told = self.model.longest_told(key)
            need = self.fontMetrics().horizontalAdvance(told) + MEDIUM + SMALL
            if told and need > self.view.columnWidth(column):
                self.view.setColumnWidth(column, need)

    def _resized(self, column: int, _: int, width: int) -> None:
        if column == CAUSE:
            self._say_settled(width)

    def _say_settled(self, width: int) -> None:
        """In words, too, where the longest have room; the mark before the cause is always there."""
        longest = f"{max(CAUSES, key=len)} (confirmed)"
        need = self.fontMetrics().horizontalAdvance(longest) + SIZE + 2 * MEDIUM
        self.model.say_settled(in_words=width >= need)

    def _sort_by(self, column: int, order: Qt.SortOrder) -> None:
        self._sort = (COLUMNS[column][0], order == Qt.SortOrder.DescendingOrder)
        self.arrange()

    def sort_by(self, key: str, falling: bool = False) -> None:
        """Sort by a column's key and show that in its heading."""
        column = [one[0] for one in COLUMNS].index(key)
        order = Qt.SortOrder.DescendingOrder if falling else Qt.SortOrder.AscendingOrder
        header = self.view.horizontalHeader()
        with QSignalBlocker(header):
            header.setSortIndicator(column, order)
        self._sort_by(column, order)

    def wanted(self) -> RowFilter:
        return RowFilter(
            self.words.text(),
            self.combiner.currentData(),
            self.level.currentData(),
            self._session.shown_ids(),
        )

    def arrange(self, *_: object) -> None:
        """Filter and sort again; the selection stays what it was."""
        names = self._session.combiners()
        choices: list[tuple[str, object]] = [("all combiners", None)]
        choices += [(name or "no combiner", name) for name in names]
        fill_choices(self.combiner, choices, self.combiner.currentData())
        settled = self._session.settled.by_trace
        known = self._session.rows
        if settled:
            known = (
                as_settled(row, settled[row.trace_id]) if row.trace_id in settled else row
                for row in known
            )
        rows = arranged(known, self.wanted(), *self._sort)
        with_days = self._session.shown_visit() is None
        self.model.show_rows(rows, with_days)
        self.view.setColumnHidden(DAY, not with_days)
        self._make_room()
        self.count.setText(f"{len(rows)} shown")

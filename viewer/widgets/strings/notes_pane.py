"""Notes, findings and repairs of the current string, kept in the site file; with undo."""

from datetime import date

from PySide6.QtWidgets import (
    QComboBox,
    QHBoxLayout,
    QHeaderView,
    QLabel,
    QLineEdit,
    QPushButton,
    QTableWidget,
    QTableWidgetItem,
    QVBoxLayout,
    QWidget,
)

from viewer.analysis.causes.cause_words import cause_name
from viewer.analysis.results.trace_result import CAUSES, TraceResult
from viewer.site_data.site_file.annotation_listing import Annotation
from viewer.state.keeping.site_notes import KINDS, NEEDS_SITE_FILE, NewEntry, about_string
from viewer.state.session import Session
from viewer.widgets.controls.binding import fill_choices, follow
from viewer.widgets.controls.day_box import DayBox
from viewer.widgets.controls.theme import MEDIUM, SMALL, Look

HEADINGS = ("When", "Kind", "About", "Text", "State")
READ_ONLY = "The site file or its folder is read-only: copy it to where you may write to add notes."


class NotesPane(QWidget):
    def __init__(self, session: Session, look: Look, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._session = session
        self._shown: tuple[Annotation, ...] = ()
        self.title = QLabel(self)
        self.which = QComboBox(self)
        self.table = QTableWidget(0, len(HEADINGS), self)
        self.kind = QComboBox(self)
        self.day = DayBox("Day of the repair", date.today(), self)
        self.cause = QComboBox(self)
        self.text = QLineEdit(self)
        self.add = QPushButton("Add", self)
        self.close_it = QPushButton("Close finding", self)
        self.undo = QPushButton("Undo", self)
        self.redo = QPushButton("Redo", self)
        self._lay_out()
        self.kind.currentIndexChanged.connect(self._kind_changed)
        self.which.activated.connect(self.refill)
        self.add.clicked.connect(self.store)
        self.text.returnPressed.connect(self.store)
        self.close_it.clicked.connect(self._close_finding)
        self.table.itemSelectionChanged.connect(self._row_chosen)
        self.undo.clicked.connect(session.undo)
        self.redo.clicked.connect(session.redo)
        for notifier in (
            session.opened,
            session.loaded,
            session.notes.changed,
            session.history.changed,
        ):
            follow(self, notifier, self.refill)
        follow(self, session.selection.changed, self.refill)
        self._kind_changed()
        self.refill()

    def _lay_out(self) -> None:
        fill_choices(self.which, [("of this string", "string"), ("of the site", "site")], "string")
        fill_choices(self.kind, [(text, key) for key, text in KINDS.items()], "note")
        causes: list[tuple[str, object]] = [("cause not known", None)]
        causes += [(cause_name(one), one) for one in CAUSES if one != "none"]
        fill_choices(self.cause, causes, None)
        self.which.setAccessibleName("Which notes are listed")
        self.kind.setAccessibleName("What is added")
        self.cause.setAccessibleName("Cause of the finding")
        self.text.setAccessibleName("Text of the note, finding or repair")
        self.table.setAccessibleName("Notes, findings and repairs")
        self.table.setHorizontalHeaderLabels(list(HEADINGS))
        self.table.setEditTriggers(QTableWidget.EditTrigger.NoEditTriggers)
        self.table.setSelectionBehavior(QTableWidget.SelectionBehavior.SelectRows)
        self.table.setSelectionMode(QTableWidget.SelectionMode.SingleSelection)
        self.table.setShowGrid(False)
        self.table.verticalHeader().hide()
        header = self.table.horizontalHeader()
        header.setSectionResizeMode(QHeaderView.ResizeMode.ResizeToContents)
        header.setSectionResizeMode(HEADINGS.index("Text"), QHeaderView.ResizeMode.Stretch)
        self.title.setWordWrap(True)
        top = self._row(self.title, self.which, self.undo, self.redo)
        top.setStretch(0, 1)
        entry = self._row(self.kind, self.day, self.cause, self.text, self.add, self.close_it)
        entry.setStretch(3, 1)
        column = QVBoxLayout(self)
        column.setContentsMargins(MEDIUM, MEDIUM, MEDIUM, SMALL)
        column.setSpacing(SMALL)
        column.addLayout(top)
        column.addWidget(self.table, 1)
        column.addLayout(entry)

    def _row(self, *widgets: QWidget) -> QHBoxLayout:
        row = QHBoxLayout()
        row.setSpacing(SMALL)
        for widget in widgets:
            row.addWidget(widget)
        return row

    def _place(self) -> tuple[str, str] | None:
        current = self._session.current
        if current is None or not current.trace.string:
            return None
        return current.trace.place

    def refill(self, *_: object) -> None:
        notes, place = self._session.notes, self._place()
        kept = notes.kept
        may_write = kept is not None and not kept.read_only
        self.add.setEnabled(may_write and place is not None)
        self.text.setEnabled(may_write and place is not None)
        undo, redo = self._session.undo_label, self._session.redo_label
        self.undo.setEnabled(undo is not None)
        self.redo.setEnabled(redo is not None)
        self.undo.setToolTip(f"Take back: {undo}" if undo else "")
        self.redo.setToolTip(f"Do again: {redo}" if redo else "")
        self.title.setText(self._title(place))
        if kept is None:
            self._show(())
        elif self.which.currentData() == "site":
            self._show(kept.annotations)
        else:
            sources = [one.trace.source for one in self._traces(place)]
            self._show(about_string(kept, *place, sources) if place else ())

    def _traces(self, place: tuple[str, str] | None) -> list[TraceResult]:
        if place is None:
            return []
        return [
            one for one in self._session.all_results_of(place[0]) if one.trace.string == place[1]
        ]

    def _title(self, place: tuple[str, str] | None) -> str:
        notes = self._session.notes
        if notes.path is None:
            return NEEDS_SITE_FILE
        if notes.kept is not None and notes.kept.read_only:
            return READ_ONLY
        return " / ".join(place) if place else "No string is selected."

    def _show(self, found: tuple[Annotation, ...]) -> None:
        self._shown = tuple(reversed(found))
        self.table.setRowCount(len(self._shown))
        for row, one in enumerate(self._shown):
            cells = (one.when[:10], one.kind, one.about, one.text, one.state)
            for column, text in enumerate(cells):
                item = QTableWidgetItem(text)
                item.setToolTip(text)
                self.table.setItem(row, column, item)
        self._row_chosen()

    def _chosen(self) -> Annotation | None:
        rows = sorted({index.row() for index in self.table.selectedIndexes()})
        return self._shown[rows[0]] if rows and rows[0] < len(self._shown) else None

    def _row_chosen(self) -> None:
        one = self._chosen()
        open_one = one is not None and one.kind == "finding" and one.state == "open"
        kept = self._session.notes.kept
        self.close_it.setEnabled(open_one and kept is not None and not kept.read_only)

    def _kind_changed(self, *_: object) -> None:
        kind = self.kind.currentData()
        self.day.setVisible(kind == "repair")
        self.cause.setVisible(kind == "finding")
        self.text.setPlaceholderText(
            {
                "note": "What is worth knowing about this string",
                "finding": "What was found; it stays open until closed",
                "repair": "What was mended; rates over the years begin anew after it",
            }[kind]
        )

    def store(self) -> None:
        """Store what is typed about the current string."""
        place, text = self._place(), self.text.text().strip()
        if place is None or not text or not self.add.isEnabled():
            return
        self._session.notes.add(
            NewEntry(
                self.kind.currentData(),
                *place,
                text,
                self.day.day(),
                self.cause.currentData() if self.kind.currentData() == "finding" else None,
            )
        )
        self.text.clear()

    def _close_finding(self) -> None:
        one = self._chosen()
        if one is not None:
            self._session.notes.close_finding(one.number)

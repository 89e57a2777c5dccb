"""Ties state to controls; every tie ends when the control is destroyed."""

from collections.abc import Callable, Sequence
from typing import Protocol, cast
from weakref import WeakKeyDictionary

from PySide6.QtCore import (
    QEvent,
    QItemSelection,
    QItemSelectionModel,
    QObject,
    QSignalBlocker,
    QTimer,
)
from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import QAbstractItemView, QComboBox

from viewer.state.program.notifier import Notifier, Value
from viewer.state.selection import Selection


def follow(widget: QObject, notifier: Notifier, method: Callable[..., object]) -> None:
    """Call a method of the widget at every notice for as long as the widget lives."""
    widget.destroyed.connect(notifier.connect(method))


class FollowedInTurn(QObject):
    """Calls a method of a widget at the notices of one notifier at a time, such as the newest
    job's. `follow` would keep something of each for as long as the widget lives."""

    def __init__(self, widget: QObject, method: Callable[..., object]) -> None:
        super().__init__(widget)
        self._method = method
        self._end: Callable[..., None] | None = None
        widget.destroyed.connect(self.stop)

    def turn_to(self, notifier: Notifier) -> None:
        self.stop()
        self._end = notifier.connect(self._method)

    def stop(self, *_: object) -> None:
        if self._end is not None:
            self._end()
            self._end = None


class ChoiceTie(QObject):
    """A combo box and a Value that always say the same. Items carry the values as data."""

    def __init__(self, box: QComboBox, value: Value) -> None:
        super().__init__(box)
        self._box = box
        self._value = value
        follow(self, value.changed, self.show_value)
        box.activated.connect(self._chosen)
        self.show_value()

    def show_value(self, _: object = None) -> None:
        place = self._box.findData(self._value.value)
        if place >= 0 and place != self._box.currentIndex():
            with QSignalBlocker(self._box):
                self._box.setCurrentIndex(place)

    def _chosen(self, place: int) -> None:
        self._value.value = self._box.itemData(place)


_filled: WeakKeyDictionary[QComboBox, list[tuple[str, object]]] = WeakKeyDictionary()
"""What boxes were filled with: asking a box of hundreds beside a computing job takes long."""


def fill_choices(box: QComboBox, choices: Sequence[tuple[str, object]], chosen: object) -> None:
    """Replace the items of a combo box, quietly, and show the chosen one."""
    wanted = list(choices)
    with QSignalBlocker(box):
        if _filled.get(box) != wanted or box.count() != len(wanted):
            box.clear()
            for text, data in wanted:
                box.addItem(text, data)
            _filled[box] = wanted
        box.setCurrentIndex(next((n for n, (_, data) in enumerate(wanted) if data == chosen), 0))


class RowsOfTraces(Protocol):
    """What a model of rows tells of the traces that its rows stand for."""

    def row_of(self, trace_id: str) -> int | None: ...

    def trace_of(self, row: int) -> str | None: ...


class RowTie(QObject):
    """The rows selected in a view and the shared selection of traces, kept equal.

    The view's model is one of `RowsOfTraces`. Traces that the view does
    not show stay selected when its rows are selected with a modifier key. The current row stays
    in sight when the view is made lower or shown again, unless people had scrolled away from it.
    """

    def __init__(self, view: QAbstractItemView, selection: Selection) -> None:
        super().__init__(view)
        self._view = view
        self._selection = selection
        self._echo = False
        self._rows = cast(RowsOfTraces, view.model())
        view.viewport().installEventFilter(self)
        follow(self, selection.changed, self.show_selection)
        view.model().modelReset.connect(self._show_again)
        view.selectionModel().selectionChanged.connect(self._rows_changed)
        self.show_selection()

    def show_selection(self) -> None:
        if not self._echo:
            self._show_again()

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        if event.type() == QEvent.Type.Show or (
            isinstance(event, QResizeEvent) and self._was_in_sight(event)
        ):
            QTimer.singleShot(0, self, self._scroll_to_current)  # once the rows have their places
        return False

    def _was_in_sight(self, event: QResizeEvent) -> bool:
        row = self._view.visualRect(self._view.currentIndex())
        return row.isValid() and row.bottom() >= 0 and row.top() < event.oldSize().height()

    def _scroll_to_current(self) -> None:
        if self._view.currentIndex().isValid():
            self._view.scrollTo(self._view.currentIndex())

    def _show_again(self) -> None:
        """Also when an echo is under way: a model that was reset has lost its rows."""
        before, self._echo = self._echo, True
        try:
            self._select_rows()
        finally:
            self._echo = before

    def _select_rows(self) -> None:
        model, chooser = self._view.model(), self._view.selectionModel()
        wanted = QItemSelection()
        last = model.columnCount() - 1
        for trace_id in self._selection.ids:
            row = self._rows.row_of(trace_id)
            if row is not None:
                wanted.select(model.index(row, 0), model.index(row, last))
        flags = QItemSelectionModel.SelectionFlag
        chooser.select(wanted, flags.ClearAndSelect)
        current = self._selection.current
        row = self._rows.row_of(current) if current else None
        if row is not None:
            column = max(0, self._view.currentIndex().column())
            index = model.index(row, column)
            chooser.setCurrentIndex(index, flags.NoUpdate)
            self._view.scrollTo(index)

    def _rows_changed(self) -> None:
        if self._echo:
            return
        rows = sorted({index.row() for index in self._view.selectionModel().selectedIndexes()})
        ids = [self._rows.trace_of(row) for row in rows]
        current = self._rows.trace_of(self._view.currentIndex().row())
        before = [one for one in self._selection.ids if one in ids]
        added = [one for one in ids if one is not None and one not in before]
        self._echo = True
        try:
            self._selection.choose([*before, *added], current)
        finally:
            self._echo = False

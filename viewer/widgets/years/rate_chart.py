"""The rates chart: a table whose middle column draws each rate with its 95 % interval."""

from collections.abc import Sequence

from PySide6.QtCore import (
    QAbstractTableModel,
    QModelIndex,
    QObject,
    QPersistentModelIndex,
    QPointF,
    QRect,
    Qt,
)
from PySide6.QtGui import QColor, QPainter, QPen, QPolygonF
from PySide6.QtWidgets import QStyledItemDelegate, QStyleOptionViewItem

from viewer.analysis.years.rate import PUBLISHED_MEDIAN, Rate
from viewer.analysis.years.sample_plan import Place
from viewer.analysis.years.trend import WITHOUT_OUTLYING
from viewer.physics.nomenclature import with_minus
from viewer.state.session import Session
from viewer.state.years.rate_rows import RateRow, axis_range
from viewer.widgets.controls.theme import LIGHT, SMALL, Theme

Index = QModelIndex | QPersistentModelIndex
ROLE = Qt.ItemDataRole
NOWHERE = QModelIndex()
COLUMNS = ("", "From", "95 % interval", "%/year")
NAME, COUNT, CHART, RATE = range(len(COLUMNS))
GROUP_WORDS: dict[str, str] = {"site": "Site", WITHOUT_OUTLYING: "Site, usual strings"}
"""What a group is called in place of the site's name."""
MARK = 4.0


class RateModel(QAbstractTableModel):
    """Rows of the chart. A string's row stands for the trace of it that the panes show."""

    def __init__(self, session: Session, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._session = session
        self.rows: tuple[RateRow, ...] = ()
        self.range: tuple[float, float] = (-2.0, 1.0)
        self._places: dict[Place, int] = {}
        self._traces: dict[Place, str] = {}

    def show_rows(self, rows: Sequence[RateRow], traces: dict[Place, str]) -> None:
        """`traces` gives for each string the trace that selecting its row selects."""
        self.beginResetModel()
        self.rows = tuple(rows)
        self.range = axis_range(rows)
        self._traces = traces
        self._places = {row.place: place for place, row in enumerate(rows) if row.place}
        self.endResetModel()

    def row_of(self, trace_id: str) -> int | None:
        result = self._session.result(trace_id)
        if result is None:
            return None
        return self._places.get(result.trace.place)

    def trace_of(self, row: int) -> str | None:
        place = self.rows[row].place if 0 <= row < len(self.rows) else None
        return None if place is None else self._traces.get(place)

    def rowCount(self, parent: Index = NOWHERE) -> int:
        return 0 if parent.isValid() else len(self.rows)

    def columnCount(self, parent: Index = NOWHERE) -> int:
        return 0 if parent.isValid() else len(COLUMNS)

    def flags(self, index: Index) -> Qt.ItemFlag:
        flags = Qt.ItemFlag.ItemIsEnabled
        if index.isValid() and self.rows[index.row()].place is not None:
            flags |= Qt.ItemFlag.ItemIsSelectable
        return flags

    def headerData(
        self, section: int, orientation: Qt.Orientation, role: int = ROLE.DisplayRole
    ) -> object:
        if orientation == Qt.Orientation.Horizontal and role == ROLE.DisplayRole:
            return COLUMNS[section]
        return None

    def data(self, index: Index, role: int = ROLE.DisplayRole) -> object:
        row, column = self.rows[index.row()], index.column()
        if role == ROLE.DisplayRole:
            name = GROUP_WORDS.get(row.kind, row.name)
            rate = with_minus(row.rate.text().removesuffix(" %/year"))
            return (name, row.remark or row.count, "", rate)[column]
        if role == ROLE.ToolTipRole:
            return row.words
        if role == ROLE.AccessibleTextRole:
            rate = f"{with_minus(row.rate.text())}, 95 % interval"
            return (f"{row.kind} {row.name}", row.remark or row.count, None, rate)[column]
        return None


class RateCells(QStyledItemDelegate):
    """Draws the middle column: the interval as a bar, the rate on it, zero and published median.

    A group's rate is a diamond, a string's a circle; filled when the whole interval lies on one
    side of zero.
    """

    def __init__(self, model: RateModel, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._model = model
        self.theme: Theme = LIGHT

    def paint(self, painter: QPainter, option: QStyleOptionViewItem, index: Index) -> None:
        super().paint(painter, option, index)
        if index.column() != CHART:
            return
        row = self._model.rows[index.row()]
        painter.save()
        painter.setClipRect(option.rect)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        self._line(painter, option.rect, 0.0, QPen(QColor(self.theme.axis), 1))
        median = QPen(QColor(self.theme.level_unsure), 1.5, Qt.PenStyle.DashLine)
        self._line(painter, option.rect, PUBLISHED_MEDIAN, median)
        if row.rate.has_interval:
            self._interval(painter, option.rect, row.rate, row.place is None)
        painter.restore()

    def place(self, box: QRect, rate: float) -> float:
        """The x of a rate inside the column."""
        low, high = self._model.range
        share = (rate - low) / (high - low)
        return box.left() + SMALL + share * (box.width() - 2 * SMALL)

    def _line(self, painter: QPainter, box: QRect, rate: float, pen: QPen) -> None:
        x = self.place(box, rate)
        painter.setPen(pen)
        painter.drawLine(QPointF(x, box.top()), QPointF(x, box.bottom() + 1))

    def _interval(self, painter: QPainter, box: QRect, rate: Rate, group: bool) -> None:
        colour = QColor(self.theme.level_short if rate.is_loss else self.theme.text)
        middle = box.center().y() + 0.5
        left = max(self.place(box, rate.low), box.left() + 1.0)
        right = min(self.place(box, rate.high), box.right() - 1.0)
        painter.setPen(QPen(colour, 2.5 if group else 1.5))
        painter.drawLine(QPointF(left, middle), QPointF(right, middle))
        for x, end in ((left, rate.low), (right, rate.high)):
            if abs(self.place(box, end) - x) < 1.0:
                painter.drawLine(QPointF(x, middle - MARK), QPointF(x, middle + MARK))
        told = rate.is_loss or rate.is_gain
        painter.setBrush(colour if told else QColor(self.theme.base))
        at = QPointF(self.place(box, rate.value), middle)
        painter.setPen(QPen(colour, 1.5))
        if group:
            reach = MARK + 1.5
            ends = ((0, -reach), (reach, 0), (0, reach), (-reach, 0))
            painter.drawPolygon(QPolygonF([at + QPointF(x, y) for x, y in ends]))
        else:
            painter.drawEllipse(at, MARK, MARK)


def column_widths(advance: int) -> dict[int, int]:
    """Widths of the columns with words, from the width of one digit."""
    return {NAME: 15 * advance, COUNT: 10 * advance, RATE: 21 * advance}

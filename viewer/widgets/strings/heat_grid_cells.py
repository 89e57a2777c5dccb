"""Paints one cell of the heat-grid: colour, printed value, deviation and a mark of its side."""

import math

from PySide6.QtCore import QObject, QPointF, QRect, Qt
from PySide6.QtGui import QColor, QFontMetrics, QPainter, QPen, QPolygonF
from PySide6.QtWidgets import QStyle, QStyledItemDelegate, QStyleOptionViewItem

from viewer.widgets.controls.theme import LIGHT, MEDIUM, SMALL, Theme, mixed
from viewer.widgets.strings.heat_grid_model import DEVIATION, Index, percent, signed

MARK_FROM = 0.3
"""Part of the full range from which a cell carries a triangle, so that colour is not alone."""
MARK = 7
RIGHT = int(Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter)
PRINTED: dict[str, str] = {
    "deviation": "deviation",
    "value": "value",
    "both": "value and deviation",
}
"""What cells can print, and the words for it."""


def cell_colour(deviation: float, full: float, theme: Theme) -> QColor:
    """Of the diverging map: the middle at no deviation, an end at `full` percent and beyond."""
    if not math.isfinite(deviation):
        return QColor(theme.base)
    share = min(1.0, abs(deviation) / full)
    return mixed(theme.level_with, theme.below if deviation < 0 else theme.above, share)


class HeatGridCells(QStyledItemDelegate):
    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self.theme: Theme = LIGHT
        self.full = 10.0
        self.printed = "deviation"

    def row_height(self, metrics: QFontMetrics) -> int:
        """Two lines when cells print both numbers, else one."""
        lines = 2 if self.printed == "both" else 1
        return lines * metrics.height() + (SMALL if lines == 2 else MEDIUM)

    def paint(
        self,
        painter: QPainter,
        option: QStyleOptionViewItem,
        index: Index,
    ) -> None:
        box: QRect = option.rect
        state: QStyle.StateFlag = option.state
        deviation = index.data(DEVIATION)
        deviation = math.nan if deviation is None else float(deviation)
        painter.save()
        painter.fillRect(box, cell_colour(deviation, self.full, self.theme))
        painter.setPen(QColor(self.theme.grid_line))
        painter.drawLine(box.topRight(), box.bottomRight())
        painter.drawLine(box.bottomLeft(), box.bottomRight())
        self._mark(painter, box, deviation)
        self._words(painter, box, str(index.data()), deviation)
        if state & QStyle.StateFlag.State_Selected:
            self._frame(painter, box, index)
        if state & QStyle.StateFlag.State_HasFocus:
            painter.setPen(QPen(QColor(self.theme.text), 1, Qt.PenStyle.DotLine))
            painter.drawRect(box.adjusted(2, 2, -3, -3))
        painter.restore()

    def _words(self, painter: QPainter, box: QRect, value: str, deviation: float) -> None:
        painter.setPen(QColor(self.theme.text))
        inner = box.adjusted(0, 0, -SMALL, 0)
        lines = [value] if self.printed != "deviation" or not math.isfinite(deviation) else []
        if self.printed != "value" and math.isfinite(deviation):
            both = self.printed == "both"
            lines.append(percent(deviation) if both else signed(deviation))
        painter.drawText(inner, RIGHT, "\n".join(lines))

    def _mark(self, painter: QPainter, box: QRect, deviation: float) -> None:
        if not math.isfinite(deviation) or abs(deviation) < MARK_FROM * self.full:
            return
        middle = QPointF(box.left() + SMALL + MARK / 2, box.center().y() + 0.5)
        tip = MARK / 2 if deviation < 0 else -MARK / 2
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.setPen(Qt.PenStyle.NoPen)
        painter.setBrush(QColor(self.theme.text))
        painter.drawPolygon(
            QPolygonF(
                [
                    middle + QPointF(0, tip),
                    middle + QPointF(-MARK / 2, -tip),
                    middle + QPointF(MARK / 2, -tip),
                ]
            )
        )
        painter.setRenderHint(QPainter.RenderHint.Antialiasing, False)

    def _frame(self, painter: QPainter, box: QRect, index: Index) -> None:
        """A line above and below the whole row says that it is selected."""
        painter.setPen(QPen(QColor(self.theme.accent), 2))
        painter.drawLine(box.left(), box.top() + 1, box.right() + 1, box.top() + 1)
        painter.drawLine(box.left(), box.bottom(), box.right() + 1, box.bottom())
        if index.column() == 0:
            painter.drawLine(box.left() + 1, box.top() + 1, box.left() + 1, box.bottom())
        if index.column() == index.model().columnCount() - 1:
            painter.drawLine(box.right(), box.top() + 1, box.right(), box.bottom())

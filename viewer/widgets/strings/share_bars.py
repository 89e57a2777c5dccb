"""A table cell that draws its number as a bar to the right or left of a middle line."""

from PySide6.QtCore import QObject, QRectF, Qt
from PySide6.QtGui import QColor, QPainter
from PySide6.QtWidgets import QStyle, QStyledItemDelegate, QStyleOptionViewItem

from viewer.widgets.controls.plain_rows import Index
from viewer.widgets.controls.theme import LIGHT, SMALL, Theme

TEXT_SHARE = 0.42
"""Part of the cell kept for the printed number."""


class ShareBars(QStyledItemDelegate):
    """`values` holds one number a row; the longest bar is that of the greatest magnitude."""

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self.theme: Theme = LIGHT
        self.values: tuple[float, ...] = ()

    def paint(self, painter: QPainter, option: QStyleOptionViewItem, index: Index) -> None:
        painter.save()
        if option.state & QStyle.StateFlag.State_Selected:
            painter.fillRect(option.rect, QColor(self.theme.selected))
        words = QRectF(option.rect)
        words.setWidth(words.width() * TEXT_SHARE)
        painter.setPen(QColor(self.theme.text))
        right = Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter
        painter.drawText(words, int(right), str(index.data()))
        self._bar(painter, QRectF(option.rect), words.right() + SMALL, index.row())
        painter.restore()

    def _bar(self, painter: QPainter, cell: QRectF, left: float, row: int) -> None:
        top = max((abs(one) for one in self.values), default=0.0)
        if row >= len(self.values) or top <= 0.0:
            return
        lowest = min(0.0, min(self.values))
        highest = max(0.0, max(self.values))
        scale = (cell.right() - SMALL - left) / (highest - lowest)
        zero = left - lowest * scale
        value = self.values[row]
        start = min(zero, zero + value * scale)
        box = QRectF(start, cell.top() + 3, abs(value) * scale, cell.height() - 6)
        painter.fillRect(box, QColor(self.theme.level_short if value > 0 else self.theme.subtle))
        painter.setPen(QColor(self.theme.axis))
        painter.drawLine(int(zero), int(cell.top()), int(zero), int(cell.bottom()))

"""A schematic of a simulated string: every bypass group painted by what it does at the cursor.

A state is told by colour, by pattern and by a letter: conducting groups are plain, bypassed
ones hatched with B, reverse-biased ones full with R.
"""

from math import ceil

from PySide6.QtCore import QEvent, QPointF, QRectF, QSize, Qt, Signal
from PySide6.QtGui import (
    QBrush,
    QColor,
    QFontMetrics,
    QHelpEvent,
    QKeyEvent,
    QMouseEvent,
    QPainter,
    QPen,
)
from PySide6.QtWidgets import QToolTip, QWidget

from viewer.physics.cell_string.group_states import GroupState
from viewer.state.string_view import ABSENT, StringView
from viewer.widgets.binding import follow
from viewer.widgets.lesson_size import LessonSize
from viewer.widgets.theme import LARGE, SMALL, Look

LETTERS = {GroupState.CONDUCTING: "", GroupState.BYPASSED: "B", GroupState.REVERSE: "R"}
LEGEND = (
    (GroupState.CONDUCTING, "conducting"),
    (GroupState.BYPASSED, "bypassed (B)"),
    (GroupState.REVERSE, "reverse-biased (R)"),
)
WIDEST_MODULE = 120.0
SHAPE = 0.8
"""Height of a module over its width, at most."""
NUMBERS = 0.75
"""Size of the modules' numbers over that of other letters."""
WARM = 5.0
"""From this heat [W] of its hottest cell on, a group is marked with the number."""


class StringSchematic(QWidget):
    """`chosen` passes module and group, counted from 0, that were clicked or entered."""

    chosen = Signal(int, int)

    def __init__(self, look: Look, size: LessonSize, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._look = look
        self._size = size
        self.view: StringView | None = None
        self._at = (0, 0)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setAccessibleName("Schematic of the string")
        self.setToolTip("")
        self.setMouseTracking(True)
        follow(self, look.theme.changed, self.dress)
        follow(self, size.big.changed, self.dress)

    def dress(self, *_: object) -> None:
        self.updateGeometry()
        self.update()

    def show_view(self, view: StringView) -> None:
        self.view = view
        modules, groups = view.state.shape
        self._at = (min(self._at[0], modules - 1), min(self._at[1], groups - 1))
        self.setAccessibleDescription(view.sentence())
        self.update()

    def minimumSizeHint(self) -> QSize:
        return QSize(240, round(115 * self._size.scale))

    def sizeHint(self) -> QSize:
        return QSize(600, round(170 * self._size.scale))

    def _strip(self) -> float:
        """Height of the legend's line."""
        return float(QFontMetrics(self._size.font()).height() + 2 * SMALL)

    def columns(self) -> int:
        """Modules side by side, so that the string fills the room it has."""
        assert self.view is not None
        modules = len(self.view.state)
        high = max(self.height() - self._strip(), 1.0)
        best, area = 1, 0.0
        for columns in range(1, modules + 1):
            wide = min(self.width() / columns, WIDEST_MODULE * self._size.scale)
            tall = min(high / ceil(modules / columns), wide * SHAPE)
            wide = min(wide, tall * 2.2)
            if wide * tall > area * 1.0001:
                best, area = columns, wide * tall
        return best

    def module_box(self, module: int) -> QRectF:
        """Where a module is painted; the string runs from left to right, line by line."""
        assert self.view is not None
        columns = self.columns()
        rows = ceil(len(self.view.state) / columns)
        wide = min(self.width() / columns, WIDEST_MODULE * self._size.scale)
        tall = min((self.height() - self._strip()) / rows, wide * SHAPE)
        row, column = divmod(module, columns)
        return QRectF(column * wide, self._strip() + row * tall, wide, tall).adjusted(1, 1, -4, -4)

    def group_box(self, module: int, group: int) -> QRectF:
        box = self.module_box(module)
        assert self.view is not None
        wide = box.width() / self.view.state.shape[1]
        return QRectF(box.left() + group * wide, box.top(), wide, box.height())

    def group_at(self, place: QPointF) -> tuple[int, int] | None:
        """Module and group under a point of the widget."""
        if self.view is None:
            return None
        modules, groups = self.view.state.shape
        for module in range(modules):
            box = self.module_box(module)
            if box.contains(place):
                group = int((place.x() - box.left()) / box.width() * groups)
                return module, min(group, groups - 1)
        return None

    def paintEvent(self, _: QEvent) -> None:
        view, theme = self.view, self._look.theme.value
        painter = QPainter(self)
        painter.fillRect(self.rect(), QColor(theme.base))
        if view is None:
            painter.end()
            return
        painter.setFont(self._size.font())
        self._paint_legend(painter)
        modules, groups = view.state.shape
        hottest = view.hottest()
        for module in range(modules):
            for group in range(groups):
                self._paint_group(painter, view, module, group)
            self._paint_frame(painter, view, module)
        if hottest is not None and hottest[2] >= WARM:
            box = self.group_box(*hottest[:2])
            painter.setBrush(Qt.BrushStyle.NoBrush)
            painter.setPen(QPen(QColor(theme.level_short), 2.5 * self._size.scale))
            painter.drawRect(box)
        if self.hasFocus():
            painter.setBrush(Qt.BrushStyle.NoBrush)
            painter.setPen(QPen(QColor(theme.accent), 2, Qt.PenStyle.DotLine))
            painter.drawRect(self.group_box(*self._at).adjusted(2, 2, -2, -2))
        painter.end()

    def _paint_legend(self, painter: QPainter) -> None:
        theme = self._look.theme.value
        left, high = 0.0, self._strip()
        side = high - 2 * SMALL
        for state, words in LEGEND:
            box = QRectF(left + 1, SMALL, side * 1.4, side)
            self._fill(painter, box, int(state))
            painter.setPen(QColor(theme.text))
            wide = painter.fontMetrics().horizontalAdvance(words)
            place = QRectF(box.right() + SMALL, 0, wide + SMALL, high)
            painter.drawText(place, int(Qt.AlignmentFlag.AlignVCenter), words)
            left = place.right() + LARGE
        note = "+ end first; number: heat of the group's hottest cell in W"
        place = QRectF(left, 0, self.width() - left, high)
        if painter.fontMetrics().horizontalAdvance(note) < place.width():
            painter.setPen(QColor(theme.subtle))
            painter.drawText(place, int(Qt.AlignmentFlag.AlignVCenter), note)

    def _fill(self, painter: QPainter, box: QRectF, state: int) -> None:
        theme = self._look.theme.value
        if state == GroupState.CONDUCTING:
            painter.fillRect(box, QColor(theme.selected))
        elif state == GroupState.BYPASSED:
            painter.fillRect(box, QColor(theme.base))
            painter.fillRect(box, QBrush(QColor(theme.level_watch), Qt.BrushStyle.BDiagPattern))
        elif state == GroupState.REVERSE:
            painter.fillRect(box, QColor(theme.level_short))
        if state != ABSENT:
            painter.setPen(QPen(QColor(theme.axis), 1))
            painter.setBrush(Qt.BrushStyle.NoBrush)
            painter.drawRect(box)

    def _paint_group(self, painter: QPainter, view: StringView, module: int, group: int) -> None:
        theme = self._look.theme.value
        box = self.group_box(module, group)
        state = int(view.state[module, group])
        self._fill(painter, box, state)
        if state == ABSENT:
            return
        letter = LETTERS[GroupState(state)]
        heat = float(view.heat[module, group])
        lines = [letter] if letter else []
        if heat >= WARM:
            lines.append(f"{heat:.0f}")
        if not lines:
            return
        painter.setPen(QColor(theme.base if state == GroupState.REVERSE else theme.text))
        box = box.adjusted(0, QFontMetrics(self._size.font(NUMBERS)).height(), 0, 0)
        font = self._size.font()
        font.setBold(True)
        room = min(box.height() / (len(lines) + 0.6), box.width() / 2.1)
        font.setPixelSize(max(7, min(round(room), round(15 * self._size.scale))))
        painter.setFont(font)
        text = "\n".join(lines)
        if state == GroupState.BYPASSED:
            wide = painter.fontMetrics().boundingRect(
                box.toRect(), int(Qt.AlignmentFlag.AlignCenter), text
            )
            painter.fillRect(wide.adjusted(-1, 0, 1, 0), QColor(theme.base))
        painter.drawText(box, int(Qt.AlignmentFlag.AlignCenter), text)

    def _paint_frame(self, painter: QPainter, view: StringView, module: int) -> None:
        theme = self._look.theme.value
        box = self.module_box(module)
        absent = bool((view.state[module] == ABSENT).all())
        style = Qt.PenStyle.DashLine if absent else Qt.PenStyle.SolidLine
        painter.setPen(QPen(QColor(theme.subtle if absent else theme.text), 1.5, style))
        painter.setBrush(Qt.BrushStyle.NoBrush)
        painter.drawRect(box)
        painter.setFont(self._size.font(NUMBERS))
        painter.setPen(QColor(theme.text))
        text = f"{module + 1} missing" if absent else str(module + 1)
        metrics = painter.fontMetrics()
        plate = QRectF(
            *(box.left() + 1, box.top() + 1),
            *(metrics.horizontalAdvance(text) + 5, metrics.height()),
        )
        if (view.state[module] > GroupState.CONDUCTING).any():
            painter.fillRect(plate, QColor(theme.base))
        painter.drawText(plate, int(Qt.AlignmentFlag.AlignCenter), text)

    def event(self, event: QEvent) -> bool:
        if event.type() == QEvent.Type.ToolTip and isinstance(event, QHelpEvent):
            found = self.group_at(QPointF(event.pos()))
            if found is not None and self.view is not None:
                QToolTip.showText(event.globalPos(), self.view.group_sentence(*found), self)
            else:
                QToolTip.hideText()
            return True
        return super().event(event)

    def mousePressEvent(self, event: QMouseEvent) -> None:
        found = self.group_at(event.position())
        if found is not None:
            self._choose(*found)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        if self.view is None:
            return
        modules, groups = self.view.state.shape
        place = self._at[0] * groups + self._at[1]
        line = self.columns() * groups
        steps = {
            Qt.Key.Key_Left: -1,
            Qt.Key.Key_Right: 1,
            Qt.Key.Key_Up: -line,
            Qt.Key.Key_Down: line,
        }
        step = steps.get(Qt.Key(event.key()))
        if step is not None:
            self._at = divmod(min(max(place + step, 0), modules * groups - 1), groups)
            self.setAccessibleDescription(self.view.group_sentence(*self._at))
            self.update()
        elif event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter, Qt.Key.Key_Space):
            self._choose(*self._at)
        else:
            super().keyPressEvent(event)

    def _choose(self, module: int, group: int) -> None:
        self._at = (module, group)
        self.update()
        self.chosen.emit(module, group)

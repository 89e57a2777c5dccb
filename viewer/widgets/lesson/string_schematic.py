"""A schematic of a simulated string: every bypass group painted by what it does at the cursor.

A state is told by colour, by pattern and by a letter: conducting groups are plain, bypassed
ones hatched with B, reverse-biased ones full with R.
"""

from dataclasses import dataclass

from PySide6.QtCore import QEvent, QPointF, QRectF, QSize, Qt, Signal
from PySide6.QtGui import (
    QBrush,
    QColor,
    QFont,
    QFontMetrics,
    QHelpEvent,
    QKeyEvent,
    QMouseEvent,
    QPainter,
    QPaintEvent,
    QPen,
)
from PySide6.QtWidgets import QToolTip, QWidget

from viewer.physics.cell_string.group_states import GroupState
from viewer.state.lesson.string_view import ABSENT, StringView
from viewer.widgets.controls.binding import follow
from viewer.widgets.controls.theme import LARGE, SMALL, Look, Theme
from viewer.widgets.lesson.lesson_size import LessonSize
from viewer.widgets.lesson.schematic_layout import SchematicLayout

LETTERS = {GroupState.CONDUCTING: "", GroupState.BYPASSED: "B", GroupState.REVERSE: "R"}
LEGEND = (
    (GroupState.CONDUCTING, "conducting"),
    (GroupState.BYPASSED, "bypassed (B)"),
    (GroupState.REVERSE, "reverse-biased (R)"),
)
NOTE = "+ end first; number: heat of the group's hottest cell in W"
NUMBERS = 0.75
"""Size of the modules' numbers over that of other letters."""
WARM = 5.0
"""From this heat [W] of its hottest cell on, a group is marked with the number."""
STEPS = {Qt.Key.Key_Left: -1, Qt.Key.Key_Right: 1}
LINES = {Qt.Key.Key_Up: -1, Qt.Key.Key_Down: 1}
CHOOSE = (Qt.Key.Key_Return, Qt.Key.Key_Enter, Qt.Key.Key_Space)


@dataclass(frozen=True, eq=False)
class _Inks:
    """Pens, brushes and fonts of one theme and size, made once."""

    theme: Theme
    letters: QFont
    numbers: QFont
    numbers_height: int
    fills: dict[int, QBrush]
    edge: QPen
    frame: QPen
    absent: QPen


class StringSchematic(QWidget):
    """`chosen` passes module and group, counted from 0, that were clicked or entered."""

    chosen = Signal(int, int)

    def __init__(self, look: Look, size: LessonSize, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._look = look
        self._size = size
        self.view: StringView | None = None
        self._at = (0, 0)
        self._layout: SchematicLayout | None = None
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setAccessibleName("Schematic of the string")
        follow(self, look.theme.changed, self.dress)
        follow(self, size.big.changed, self.dress)
        self.dress()

    def dress(self, *_: object) -> None:
        theme, numbers = self._look.theme.value, self._size.font(NUMBERS)
        self._inks = _Inks(
            theme,
            self._size.font(),
            numbers,
            QFontMetrics(numbers).height(),
            {
                GroupState.CONDUCTING: QBrush(QColor(theme.selected)),
                GroupState.BYPASSED: QBrush(QColor(theme.level_watch), Qt.BrushStyle.BDiagPattern),
                GroupState.REVERSE: QBrush(QColor(theme.level_short)),
            },
            QPen(QColor(theme.axis), 1),
            QPen(QColor(theme.text), 1.5),
            QPen(QColor(theme.subtle), 1.5, Qt.PenStyle.DashLine),
        )
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

    def places(self) -> SchematicLayout:
        """Where everything is painted at the widget's size; kept until that changes."""
        assert self.view is not None
        modules, groups = self.view.state.shape
        strip = float(QFontMetrics(self._inks.letters).height() + 2 * SMALL)
        wanted = SchematicLayout(
            self.width(), self.height(), strip, modules, groups, self._size.scale
        )
        if self._layout != wanted:
            self._layout = wanted
        assert self._layout is not None
        return self._layout

    def paintEvent(self, _: QPaintEvent) -> None:
        view, inks = self.view, self._inks
        painter = QPainter(self)
        painter.fillRect(self.rect(), QColor(inks.theme.base))
        if view is not None:
            places = self.places()
            self._paint_legend(painter, places.strip)
            self._paint_groups(painter, view, places)
            self._paint_frames(painter, view, places)
            self._paint_marks(painter, view, places)
        painter.end()

    def _paint_legend(self, painter: QPainter, high: float) -> None:
        inks = self._inks
        painter.setFont(inks.letters)
        metrics = QFontMetrics(inks.letters)
        left, side = 0.0, high - 2 * SMALL
        middle = int(Qt.AlignmentFlag.AlignVCenter)
        for state, words in LEGEND:
            box = QRectF(left + 1, SMALL, side * 1.4, side)
            painter.fillRect(box, inks.fills[state])
            painter.setPen(inks.edge)
            painter.drawRect(box)
            painter.setPen(inks.frame)
            place = QRectF(box.right() + SMALL, 0, metrics.horizontalAdvance(words) + SMALL, high)
            painter.drawText(place, middle, words)
            left = place.right() + LARGE
        place = QRectF(left, 0, self.width() - left, high)
        if metrics.horizontalAdvance(NOTE) < place.width():
            painter.setPen(QColor(inks.theme.subtle))
            painter.drawText(place, middle, NOTE)

    def _paint_groups(self, painter: QPainter, view: StringView, places: SchematicLayout) -> None:
        inks = self._inks
        states, heats = view.state.tolist(), view.heat.tolist()
        edges: list[QRectF] = []
        for module, boxes in enumerate(places.group_boxes):
            for group, box in enumerate(boxes):
                state = states[module][group]
                if state != ABSENT:
                    painter.fillRect(box, inks.fills[state])
                    edges.append(box)
        painter.setPen(inks.edge)
        painter.setBrush(Qt.BrushStyle.NoBrush)
        painter.drawRects(edges)
        for module, boxes in enumerate(places.group_boxes):
            for group, box in enumerate(boxes):
                state, heat = states[module][group], heats[module][group]
                lines = [LETTERS[GroupState(state)]] if state > GroupState.CONDUCTING else []
                if heat >= WARM:
                    lines.append(f"{heat:.0f}")
                if lines:
                    self._paint_words(painter, box, lines, state)

    def _paint_words(self, painter: QPainter, box: QRectF, lines: list[str], state: int) -> None:
        """Letter and heat under the line of the modules' numbers, as large as there is room."""
        inks = self._inks
        room = box.adjusted(0, inks.numbers_height, 0, 0)
        font = QFont(inks.letters)
        font.setBold(True)
        high = min(room.height() / (len(lines) + 0.6), room.width() / 2.1)
        font.setPixelSize(max(7, min(round(high), round(15 * self._size.scale))))
        painter.setFont(font)
        text, centre = "\n".join(lines), int(Qt.AlignmentFlag.AlignCenter)
        if state == GroupState.BYPASSED:
            behind = painter.fontMetrics().boundingRect(room.toRect(), centre, text)
            painter.fillRect(behind.adjusted(-1, 0, 1, 0), QColor(inks.theme.base))
        on_full = state == GroupState.REVERSE
        painter.setPen(QColor(inks.theme.base if on_full else inks.theme.text))
        painter.drawText(room, centre, text)

    def _paint_frames(self, painter: QPainter, view: StringView, places: SchematicLayout) -> None:
        inks = self._inks
        painter.setFont(inks.numbers)
        metrics = QFontMetrics(inks.numbers)
        centre = int(Qt.AlignmentFlag.AlignCenter)
        for module, box in enumerate(places.module_boxes):
            states = view.state[module]
            absent = bool(states[0] == ABSENT)
            painter.setPen(inks.absent if absent else inks.frame)
            painter.drawRect(box)
            text = f"{module + 1} missing" if absent else str(module + 1)
            plate = QRectF(
                *(box.left() + 1, box.top() + 1),
                *(metrics.horizontalAdvance(text) + 5, inks.numbers_height),
            )
            if states[0] > GroupState.CONDUCTING:
                painter.fillRect(plate, QColor(inks.theme.base))
            painter.setPen(inks.frame)
            painter.drawText(plate, centre, text)

    def _paint_marks(self, painter: QPainter, view: StringView, places: SchematicLayout) -> None:
        """A heavy frame around the hottest group, a dotted one where the keyboard is."""
        theme, hottest = self._inks.theme, view.hottest()
        if hottest is not None and hottest[2] >= WARM:
            painter.setPen(QPen(QColor(theme.level_short), 2.5 * self._size.scale))
            painter.drawRect(places.group_boxes[hottest[0]][hottest[1]])
        if self.hasFocus():
            painter.setPen(QPen(QColor(theme.accent), 2, Qt.PenStyle.DotLine))
            box = places.group_boxes[self._at[0]][self._at[1]]
            painter.drawRect(box.adjusted(2, 2, -2, -2))

    def event(self, event: QEvent) -> bool:
        if event.type() == QEvent.Type.ToolTip and isinstance(event, QHelpEvent):
            found = self.group_at(QPointF(event.pos()))
            if found is not None and self.view is not None:
                QToolTip.showText(event.globalPos(), self.view.group_sentence(*found), self)
            else:
                QToolTip.hideText()
            return True
        return super().event(event)

    def group_at(self, place: QPointF) -> tuple[int, int] | None:
        """Module and group under a point of the widget."""
        return self.places().group_at(place) if self.view is not None else None

    def mousePressEvent(self, event: QMouseEvent) -> None:
        found = self.group_at(event.position())
        if found is not None:
            self._choose(*found)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        if self.view is None:
            return
        modules, groups = self.view.state.shape
        key = Qt.Key(event.key())
        if key in CHOOSE:
            self._choose(*self._at)
            return
        if key in STEPS:
            step = STEPS[key]
        elif key in LINES:
            step = LINES[key] * self.places().columns * groups
        else:
            super().keyPressEvent(event)
            return
        place = self._at[0] * groups + self._at[1] + step
        self._at = divmod(min(max(place, 0), modules * groups - 1), groups)
        self.setAccessibleDescription(self.view.group_sentence(*self._at))
        self.update()

    def _choose(self, module: int, group: int) -> None:
        self._at = (module, group)
        self.update()
        self.chosen.emit(module, group)

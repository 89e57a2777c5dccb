"""Paints the marks of one panel over its curves: placed by volts and amperes, sized in pixels."""

from collections.abc import Sequence
from dataclasses import dataclass

import pyqtgraph as pg
from PySide6.QtCore import QLineF, QPointF, QRectF, Qt
from PySide6.QtGui import QBrush, QColor, QFont, QFontMetricsF, QPainter, QPen, QPolygonF
from PySide6.QtWidgets import QStyleOptionGraphicsItem, QWidget

from viewer.reports.annotation import Annotation, span_text
from viewer.widgets.controls.theme import SMALL, Theme

HEAD = 10.0
"""Length of an arrow's head [pixels]."""
CAP = 5.0
"""Half the height of a bracket's ends."""
RING = 5.0
HANDLE = 4.0
FONT_PIXELS = 13
TEXT_WIDTH = 260.0
"""A mark's text is wrapped beyond this [pixels]."""


@dataclass(frozen=True)
class ShownMark:
    """A mark with the places it has now: a callout's first one lies on its curve."""

    number: int
    mark: Annotation
    points: tuple[tuple[float, float], ...]


class MarkItem(pg.GraphicsObject):
    """Lies over a panel; it takes no part in finding the panel's range."""

    def __init__(self) -> None:
        super().__init__()
        self.setZValue(5)
        self.setAcceptedMouseButtons(Qt.MouseButton.NoButton)
        self._marks: tuple[ShownMark, ...] = ()
        self._chosen: int | None = None
        self._theme: Theme | None = None

    def show_marks(self, marks: Sequence[ShownMark], chosen: int | None, theme: Theme) -> None:
        self._marks, self._chosen, self._theme = tuple(marks), chosen, theme
        self.update()

    def boundingRect(self) -> QRectF:
        return self.viewRect() or QRectF()

    def viewTransformChanged(self) -> None:
        super().viewTransformChanged()
        self.prepareGeometryChange()

    def paint(
        self, painter: QPainter, _: QStyleOptionGraphicsItem, __: QWidget | None = None
    ) -> None:
        theme = self._theme
        if theme is None or not self._marks:
            return
        transform = painter.worldTransform()
        painter.save()
        painter.resetTransform()
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        for shown in self._marks:
            places = [transform.map(QPointF(x, y)) for x, y in shown.points]
            _Painting(painter, theme, shown.mark, places).draw()
            if shown.number == self._chosen:
                _handles(painter, theme, places)
        painter.restore()


class _Painting:
    """One mark on a painter in pixels."""

    def __init__(
        self, painter: QPainter, theme: Theme, mark: Annotation, places: list[QPointF]
    ) -> None:
        self.painter, self.theme, self.mark, self.places = painter, theme, mark, places

    def draw(self) -> None:
        self.painter.setPen(QPen(QColor(self.theme.text), 1.4))
        self.painter.setBrush(Qt.BrushStyle.NoBrush)
        {
            "text": self._text,
            "arrow": self._arrow,
            "bracket": self._bracket,
            "region": self._region,
            "callout": self._callout,
        }[self.mark.kind]()

    def _text(self) -> None:
        height = QFontMetricsF(self._font()).height()
        self._words(self.mark.text, self.places[0] - QPointF(0, height / 2))

    def _arrow(self) -> None:
        tail, head = self.places
        box = self._words_about(tail)
        self._line(tail, head, box)
        line = QLineF(head, tail)
        wings = []
        for turn in (20, -20):
            wing = QLineF(line)
            wing.setLength(HEAD)
            wing.setAngle(line.angle() + turn)
            wings.append(wing.p2())
        self.painter.setBrush(QColor(self.theme.text))
        self.painter.drawPolygon(QPolygonF([head, *wings]))

    def _bracket(self) -> None:
        left, right = self.places
        right = QPointF(right.x(), left.y())
        up = QPointF(0, CAP)
        self.painter.drawLine(left, right)
        for end in (left, right):
            self.painter.drawLine(end - up, end + up)
        words = span_text(self.mark)
        box = self._box(words)
        middle = (left + right) / 2
        self._words(words, middle - QPointF(box.width() / 2, box.height() + CAP))

    def _region(self) -> None:
        box = QRectF(self.places[0], self.places[1]).normalized()
        fill = QColor(self.theme.level_watch)
        fill.setAlphaF(0.18)
        self.painter.setBrush(QBrush(fill))
        self.painter.setPen(QPen(QColor(self.theme.text), 1.0, Qt.PenStyle.DashLine))
        self.painter.drawRect(box)
        self._words(self.mark.text, box.topLeft() + QPointF(SMALL, SMALL))

    def _callout(self) -> None:
        point, tail = self.places
        ring = RING
        self.painter.drawEllipse(point, ring, ring)
        box = self._words_about(tail, boxed=True)
        self._line(tail, point, box)

    def _line(self, tail: QPointF, head: QPointF, box: QRectF) -> None:
        """From the edge of the words to the head."""
        line = QLineF(tail, head)
        edges = (
            QLineF(box.topLeft(), box.topRight()),
            QLineF(box.bottomLeft(), box.bottomRight()),
            QLineF(box.topLeft(), box.bottomLeft()),
            QLineF(box.topRight(), box.bottomRight()),
        )
        begin = tail
        for edge in edges if not box.isNull() else ():
            kind, at = line.intersects(edge)
            if kind == QLineF.IntersectionType.BoundedIntersection:
                begin = at
        self.painter.drawLine(begin, head)

    def _words_about(self, middle: QPointF, boxed: bool = False) -> QRectF:
        """The mark's words around a place; the box they take."""
        if not self.mark.text:
            return QRectF()
        box = self._box(self.mark.text)
        box.moveCenter(middle)
        margin = SMALL
        frame = box.adjusted(-margin, -margin / 2, margin, margin / 2)
        if boxed:
            self.painter.setBrush(QColor(self.theme.base))
            self.painter.drawRoundedRect(frame, margin, margin)
            self.painter.setBrush(Qt.BrushStyle.NoBrush)
        self._words(self.mark.text, box.topLeft())
        return frame

    def _font(self) -> QFont:
        font = QFont(self.painter.font())
        font.setPixelSize(FONT_PIXELS)
        return font

    def _box(self, words: str) -> QRectF:
        bounds = QRectF(0, 0, TEXT_WIDTH, 10_000)
        return QFontMetricsF(self._font()).boundingRect(
            bounds, int(Qt.TextFlag.TextWordWrap), words
        )

    def _words(self, words: str, corner: QPointF) -> None:
        if not words:
            return
        box = self._box(words)
        box.moveTopLeft(corner)
        self.painter.setFont(self._font())
        self.painter.setPen(QPen(QColor(self.theme.text), 1.4))
        self.painter.drawText(box, int(Qt.TextFlag.TextWordWrap), words)


def _handles(painter: QPainter, theme: Theme, places: Sequence[QPointF]) -> None:
    size = HANDLE
    painter.setPen(QPen(QColor(theme.on_accent), 1.0))
    painter.setBrush(QColor(theme.accent))
    for place in places:
        painter.drawRect(QRectF(place.x() - size, place.y() - size, 2 * size, 2 * size))

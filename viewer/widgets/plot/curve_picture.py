"""All lines of one panel as one item, painted once and then moved about as a picture."""

from dataclasses import dataclass
from functools import cached_property
from math import isclose

import pyqtgraph as pg
from PySide6.QtCore import QPointF, QRectF, QTimer
from PySide6.QtGui import QPainter, QPainterPath, QPen, QPixmap, QTransform
from PySide6.QtWidgets import QStyleOptionGraphicsItem, QWidget

from viewer.state.plot.plot_data import Array, Joints

MARGIN = 0.25
"""How much more than the view a moved picture covers at each side, in parts of the view."""
PAUSE = 120
"""Milliseconds of rest after which a stretched picture is painted anew."""
SAME_SCALE = 1e-6
"""Moving the view lets its scale differ by rounding: so much is no zoom."""
QUICK = 20_000
"""Up to so many points the lines are painted anew at every step of a zoom."""


@dataclass(eq=False)
class Line:
    """Points joined by a pen; `joints` tells for each point whether it joins the next one."""

    x: Array
    y: Array
    pen: QPen
    smooth: bool = True
    joints: Joints | None = None

    @cached_property
    def path(self) -> QPainterPath:
        connect = "all" if self.joints is None else self.joints
        return pg.arrayToQPath(self.x, self.y, connect=connect)


class CurvePicture(pg.GraphicsObject):
    """Paints `lines` in order.

    Painting a thousand curves takes as long as two frames, whatever their points, since it is
    the pixels that count. So they are painted into a picture: moving the view moves the
    picture, and zooming into many curves stretches it until the zoom has come to rest.
    """

    def __init__(self) -> None:
        super().__init__()
        self.lines: list[Line] = []
        self._picture: QPixmap | None = None
        self._covers = QRectF()
        self._scale = (0.0, 0.0)
        self._last_scale = (0.0, 0.0)
        self._rest = QTimer()
        self._rest.setSingleShot(True)
        self._rest.setInterval(PAUSE)
        self._rest.timeout.connect(self.paint_anew)

    def show_lines(self, lines: list[Line]) -> None:
        self.lines = [line for line in lines if len(line.x) > 1]
        self.paint_anew()

    def paint_anew(self) -> None:
        self._picture = None
        self.update()

    def boundingRect(self) -> QRectF:
        return self.viewRect() or QRectF()

    def viewTransformChanged(self) -> None:
        super().viewTransformChanged()
        self.prepareGeometryChange()

    def paint(self, painter: QPainter, _: QStyleOptionGraphicsItem, widget: QWidget) -> None:
        view = self.viewRect()
        if not self.lines or view is None:
            return
        transform = painter.worldTransform()
        scale = (transform.m11(), transform.m22())
        stretched = not all(
            isclose(now, before, rel_tol=SAME_SCALE)
            for now, before in zip(scale, self._scale, strict=True)
        )
        if self._picture is None or (stretched and self._is_quick()):
            self._make_picture(view, scale, 0.0, widget)
        elif stretched:
            if scale != self._last_scale:  # still zooming; other repaints do not count
                self._rest.start()
        elif not self._covers.contains(view):
            self._make_picture(view, scale, MARGIN, widget)
        self._last_scale = scale
        assert self._picture is not None
        painter.save()
        painter.resetTransform()
        place = transform.mapRect(self._covers)
        if scale == self._scale or not stretched:
            corner = QPointF(round(place.left()), round(place.top()))
            painter.drawPixmap(corner, self._picture)
        else:
            painter.drawPixmap(place, self._picture, QRectF(self._picture.rect()))
        painter.restore()

    def _is_quick(self) -> bool:
        return sum(len(line.x) for line in self.lines) <= QUICK

    def _make_picture(
        self, view: QRectF, scale: tuple[float, float], margin: float, widget: QWidget
    ) -> None:
        """Paint the view and a margin at this scale (pixels a unit of each axis)."""
        wide, high = view.width() * margin, view.height() * margin
        self._covers = view.adjusted(-wide, -high, wide, high)
        self._scale = scale
        density = widget.devicePixelRatioF() if widget is not None else 1.0
        self._picture = QPixmap(
            max(1, round(self._covers.width() * abs(scale[0]) * density)),
            max(1, round(self._covers.height() * abs(scale[1]) * density)),
        )
        self._picture.setDevicePixelRatio(density)
        self._picture.fill("#00000000")
        top = self._covers.bottom() if scale[1] < 0 else self._covers.top()
        painter = QPainter(self._picture)
        painter.setTransform(
            QTransform(
                *(scale[0], 0.0, 0.0, scale[1]),
                *(-self._covers.left() * scale[0], -top * scale[1]),
            )
        )
        for line in self.lines:
            painter.setRenderHint(QPainter.RenderHint.Antialiasing, line.smooth)
            pen = QPen(line.pen)
            pen.setWidthF(line.pen.widthF() * density)  # cosmetic pens count device pixels
            painter.setPen(pen)
            painter.drawPath(line.path)
        painter.end()

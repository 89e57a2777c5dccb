"""Marks on the curve canvas: draws them, and lets the mouse and the keys make and change them."""

from collections.abc import Callable
from dataclasses import dataclass

import pyqtgraph as pg
from PySide6.QtCore import QEvent, QObject, QPoint, QPointF, Qt, Signal
from PySide6.QtGui import QKeyEvent, QKeySequence, QMouseEvent

from viewer.reports.annotation import PlacedAnnotation
from viewer.reports.curve_figure import CurveFigure
from viewer.state.plot.mark_drawing import (
    BESIDE,
    LEAST_DRAG,
    Point,
    hit,
    moved,
    nearest_point,
    new_mark,
    places,
)
from viewer.state.session import Session
from viewer.widgets.controls.binding import follow
from viewer.widgets.plot.curve_canvas import CurveCanvas
from viewer.widgets.plot.mark_item import MarkItem, ShownMark


@dataclass
class _Drag:
    """A press under way: of a tool (no mark yet) or of a mark's point (None: its middle)."""

    panel: str
    trace_id: str
    begin: QPointF
    end: QPointF
    placed: PlacedAnnotation | None = None
    index: int | None = None


class AnnotationLayer(QObject):
    """Watches the canvas while `active`; a press that means no mark goes on to the plot."""

    wants_text = Signal()
    """A new mark was placed: its words are next."""

    def __init__(self, canvas: CurveCanvas, session: Session) -> None:
        super().__init__(canvas)
        self._canvas = canvas
        self._session = session
        self._items: dict[str, MarkItem] = {}
        self._drag: _Drag | None = None
        self.active = False
        self._viewport = canvas.viewport()
        """Known from the start: the canvas cannot be asked any more while it is being destroyed."""
        self._viewport.installEventFilter(self)
        canvas.installEventFilter(self)
        canvas.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        canvas.figure_shown.connect(self.show_marks)
        for notifier in (session.marks.changed, session.marks.chosen.changed):
            follow(self, notifier, self.show_marks)
        follow(self, session.marks.tool.changed, self._show_cursor)

    def set_active(self, active: bool) -> None:
        """While it is not, marks are shown and cannot be touched."""
        self.active = active
        if not active:
            self._session.marks.tool.value = None
            self._session.marks.chosen.value = None

    def shown(self) -> tuple[PlacedAnnotation, ...]:
        figure = self._canvas.figure
        if figure is None:
            return ()
        return self._session.marks.on(figure, self._session.choices.form.value)

    def show_marks(self, *_: object) -> None:
        figure = self._canvas.figure
        if figure is None:
            return
        for name, items in self._canvas.panels.items():
            item = self._items.get(name)
            if item is None or item.getViewBox() is not items.plot.vb:
                item = MarkItem()
                items.plot.addItem(item, ignoreBounds=True)
                self._items[name] = item
            own = [one for one in self.shown() if one.mark.panel == name]
            drawn = [ShownMark(one.number, one.mark, self._places(figure, one)) for one in own]
            item.show_marks(drawn, self._session.marks.chosen.value, self._canvas.theme)

    def _places(self, figure: CurveFigure, placed: PlacedAnnotation) -> tuple[Point, ...]:
        """Where it is drawn now: under the mouse while it is dragged."""
        drag = self._drag
        if drag is not None and drag.placed is not None and drag.placed.number == placed.number:
            return self._dragged(figure, drag)[0]
        return places(figure, placed)

    def _show_cursor(self, tool: str | None) -> None:
        if tool is None:
            self._viewport.unsetCursor()
        else:
            self._viewport.setCursor(Qt.CursorShape.CrossCursor)

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        if not self.active:
            return False
        kind = event.type()
        if watched is self._canvas and isinstance(event, QKeyEvent):
            return self._key(event)
        if watched is not self._viewport or not isinstance(event, QMouseEvent):
            return False
        if kind == QEvent.Type.MouseButtonPress and event.button() == Qt.MouseButton.LeftButton:
            return self._press(event.position().toPoint())
        if kind == QEvent.Type.MouseMove and self._drag is not None:
            self._drag.end = self._canvas.mapToScene(event.position().toPoint())
            self.show_marks()
            return True
        if kind == QEvent.Type.MouseButtonRelease and self._drag is not None:
            self._release(event.position().toPoint())
            return True
        return False

    def _press(self, place: QPoint) -> bool:
        at = self._canvas.mapToScene(place)
        panel = self._panel_at(at)
        figure = self._canvas.figure
        marks = self._session.marks
        if panel is None or figure is None:
            return False
        self._canvas.setFocus()
        if marks.tool.value is not None:
            trace = self._trace(figure, panel, at)
            if trace is None:
                return False
            self._drag = _Drag(panel, trace, at, at)
            return True
        own = tuple(one for one in self.shown() if one.mark.panel == panel)
        found = hit(figure, own, (at.x(), at.y()), lambda point: self._pixels(panel, point))
        if found is None:
            marks.chosen.value = None
            return False
        placed, index = found
        marks.chosen.value = placed.number
        self._drag = _Drag(panel, placed.trace_id, at, at, placed, index)
        return True

    def _release(self, place: QPoint) -> None:
        drag, figure = self._drag, self._canvas.figure
        assert drag is not None
        drag.end = self._canvas.mapToScene(place)
        far = (drag.end - drag.begin).manhattanLength() >= LEAST_DRAG
        if figure is not None and drag.placed is not None and far:
            points, point = self._dragged(figure, drag)
            self._drag = None
            self._session.marks.move(drag.placed.number, points, point)
        elif figure is not None and drag.placed is None:
            self._drag = None
            self._make(figure, drag, far)
        self._drag = None
        self.show_marks()

    def _make(self, figure: CurveFigure, drag: _Drag, far: bool) -> None:
        marks = self._session.marks
        kind = marks.tool.value
        if kind is None:
            return
        end = drag.end if far else drag.begin + QPointF(*BESIDE)
        begin = self._data(drag.panel, drag.begin)
        tied = self._nearest(figure, drag.panel, drag.trace_id, begin)
        form = self._session.choices.form.value
        mark = new_mark(kind, drag.panel, form, begin, self._data(drag.panel, end), tied)
        if marks.add(drag.trace_id, mark) is not None:
            marks.tool.value = None
            self.wants_text.emit()

    def _dragged(self, figure: CurveFigure, drag: _Drag) -> tuple[tuple[Point, ...], int | None]:
        """Points of the dragged mark now; a callout's end at the curve keeps to data points."""
        assert drag.placed is not None
        mark, shown = drag.placed.mark, places(figure, drag.placed)
        x0, y0 = self._data(drag.panel, drag.begin)
        x1, y1 = self._data(drag.panel, drag.end)
        if mark.kind == "callout" and drag.index == 0:
            tied = self._nearest(figure, drag.panel, drag.trace_id, (x1, y1))
            if tied is not None:
                return (tied[0], shown[1]), tied[1]
        return moved(drag.placed, shown, drag.index, (x1 - x0, y1 - y0)), mark.point

    def _nearest(
        self, figure: CurveFigure, panel: str, trace_id: str, near: Point
    ) -> tuple[Point, int] | None:
        return nearest_point(
            figure, panel, trace_id, near, lambda point: self._pixels(panel, point)
        )

    def _key(self, event: QKeyEvent) -> bool:
        """Delete, Escape, undo and redo; they are ours while the canvas has the keyboard."""
        marks = self._session.marks
        chosen = marks.chosen.value is not None
        if event.matches(QKeySequence.StandardKey.Undo):
            act: Callable[[], object] = self._session.undo
        elif event.matches(QKeySequence.StandardKey.Redo):
            act = self._session.redo
        elif event.key() in (Qt.Key.Key_Delete, Qt.Key.Key_Backspace) and chosen:
            act = marks.remove
        elif event.key() == Qt.Key.Key_Escape and (chosen or marks.tool.value is not None):
            act = self._let_go
        else:
            return False
        if event.type() == QEvent.Type.ShortcutOverride:
            event.accept()
            return True
        if event.type() == QEvent.Type.KeyPress:
            act()
            return True
        return False

    def _let_go(self) -> None:
        self._drag = None
        self._session.marks.tool.value = None
        self._session.marks.chosen.value = None

    def _panel_at(self, place: QPointF) -> str | None:
        for name, items in self._canvas.panels.items():
            if items.plot.vb.sceneBoundingRect().contains(place):
                return name
        return None

    def _trace(self, figure: CurveFigure, panel: str, place: QPointF) -> str | None:
        """The trace a new mark belongs to: the current one if it is drawn, else any drawn."""
        drawn = [one.trace_id for p in figure.panels if p.id == panel for one in p.series]
        current = self._session.selection.current
        return current if current in drawn else next(iter(drawn), None)

    def _view(self, panel: str) -> pg.ViewBox:
        return self._canvas.panels[panel].plot.vb

    def _pixels(self, panel: str, point: Point) -> Point:
        at = self._view(panel).mapViewToScene(QPointF(*point))
        return at.x(), at.y()

    def _data(self, panel: str, place: QPointF) -> Point:
        at = self._view(panel).mapSceneToView(place)
        return at.x(), at.y()

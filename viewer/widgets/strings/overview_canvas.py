"""Draws the site overview: one image for the colours, words and marks where they can be read."""

from collections.abc import Callable

import numpy as np
import pyqtgraph as pg
from PySide6.QtCore import QPointF, QRectF, Qt, Signal
from PySide6.QtGui import QColor, QKeyEvent, QPainter, QPen, QPolygonF, QStaticText
from PySide6.QtWidgets import QWidget

from viewer.state.losses.overview_grid import MARK_FROM, OverviewGrid
from viewer.widgets.controls.theme import LIGHT, Theme, figures_font

LEAST_TEXT = (38.0, 15.0)
"""Width and height in pixels from which a cell prints its value."""
LEAST_MARK = 9.0
MOST_DOTS = 600
"""When cells are smaller than a mark, at most so many of the worst carry a dot."""
STEPS: dict[int, tuple[int, int]] = {
    Qt.Key.Key_Left: (0, -1),
    Qt.Key.Key_Right: (0, 1),
    Qt.Key.Key_Up: (-1, 0),
    Qt.Key.Key_Down: (1, 0),
}


class NameAxis(pg.AxisItem):
    """Names in the middle of rows or columns, as many as fit."""

    def __init__(self, side: str) -> None:
        super().__init__(side)
        self.names: tuple[str, ...] = ()
        self.enableAutoSIPrefix(False)

    def tickValues(self, low: float, high: float, size: float) -> list[tuple[float, list[float]]]:
        low, high = sorted((low, high))
        across = self.orientation in ("left", "right")
        room = 16.0 if across else 8.0 * max((len(one) for one in self.names), default=1) + 8.0
        stride = max(1, int(np.ceil((high - low) * room / max(size, 1.0))))
        first, last = max(0, int(low)), min(len(self.names), int(np.ceil(high)))
        first += -first % stride
        return [(float(stride), [k + 0.5 for k in range(first, last, stride)])]

    def tickStrings(self, values: list[float], scale: float, spacing: float) -> list[str]:
        return [self.names[int(one)] for one in values if 0 <= one < len(self.names)]


class CellWords(pg.GraphicsObject):
    """Values and marks of the cells in sight, and the frame of the chosen ones."""

    def __init__(self) -> None:
        super().__init__()
        self.grid: OverviewGrid | None = None
        self.theme: Theme = LIGHT
        self.chosen: tuple[tuple[int, int], ...] = ()
        self._worst = np.empty((0, 2), dtype=int)
        self._laid_out: dict[str, tuple[QStaticText, QPointF]] = {}
        self._font = figures_font()
        self._font.setPixelSize(11)

    def show_grid(self, grid: OverviewGrid | None) -> None:
        self.prepareGeometryChange()
        self.grid = grid
        if grid is not None:
            depth = np.nan_to_num(grid.colour, nan=0.0)
            rows, columns = np.nonzero(depth <= -MARK_FROM)
            order = np.argsort(depth[rows, columns], kind="stable")
            self._worst = np.column_stack([rows, columns])[order]
        self.update()

    def boundingRect(self) -> QRectF:
        if self.grid is None:
            return QRectF()
        rows, columns = self.grid.shape
        return QRectF(0.0, 0.0, max(columns, 1), max(rows, 1))

    def paint(self, painter: QPainter, *_: object) -> None:
        grid, view = self.grid, self.getViewBox()
        if grid is None or view is None or 0 in grid.shape:
            return
        to_pixels = painter.transform()
        (left, right), (top, bottom) = view.viewRange()
        rows = range(max(0, int(top)), min(grid.shape[0], int(np.ceil(bottom))))
        columns = range(max(0, int(left)), min(grid.shape[1], int(np.ceil(right))))
        cell = to_pixels.mapRect(QRectF(0.0, 0.0, 1.0, 1.0))
        painter.resetTransform()
        painter.setFont(self._font)
        if cell.width() >= LEAST_TEXT[0] and cell.height() >= LEAST_TEXT[1]:
            painter.setPen(QColor(self.theme.text))
            for row in rows:
                for column in columns:
                    if grid.exists[row, column]:
                        middle = to_pixels.map(QPointF(column + 0.5, row + 0.5))
                        self._print(painter, middle, grid.text(row, column))
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.setPen(Qt.PenStyle.NoPen)
        painter.setBrush(QColor(self.theme.text))
        large = min(cell.width(), cell.height()) >= LEAST_MARK
        worst = self._worst if large else self._worst[:MOST_DOTS]
        inside = (
            (worst[:, 0] >= rows.start)
            & (worst[:, 0] < rows.stop)
            & (worst[:, 1] >= columns.start)
            & (worst[:, 1] < columns.stop)
        )
        for row, column in worst[inside].tolist():
            box = to_pixels.mapRect(QRectF(column, row, 1.0, 1.0))
            painter.drawPolygon(_triangle(box, large))
        self._frames(painter, to_pixels.mapRect)

    def _print(self, painter: QPainter, middle: QPointF, text: str) -> None:
        """Texts are laid out once and kept: a thousand cells are in sight at a time."""
        known = self._laid_out.get(text)
        if known is None:
            made = QStaticText(text)
            made.setTextFormat(Qt.TextFormat.PlainText)
            made.prepare(font=self._font)
            known = made, QPointF(made.size().width() / 2, made.size().height() / 2)
            self._laid_out[text] = known
        painter.drawStaticText(middle - known[1], known[0])

    def _frames(self, painter: QPainter, to_pixels: Callable[[QRectF], QRectF]) -> None:
        painter.setBrush(Qt.BrushStyle.NoBrush)
        painter.setPen(QPen(QColor(self.theme.accent), 2.5))
        for row, column in self.chosen:
            box = to_pixels(QRectF(column, row, 1.0, 1.0))
            painter.drawRect(box.adjusted(-1.0, -1.0, 1.0, 1.0))


def _triangle(box: QRectF, large: bool) -> QPolygonF:
    """A triangle pointing down, at the left of a large cell or over a small one."""
    half = 3.5 if large else 2.0
    middle = box.center()
    if large and box.width() >= LEAST_TEXT[0]:
        beside = min(middle.y(), box.top() + half + 10.0) if box.height() > 36 else middle.y()
        middle = QPointF(box.left() + half + 2.0, beside)
    return QPolygonF(
        [
            middle + QPointF(-half, -half),
            middle + QPointF(half, -half),
            middle + QPointF(0.0, half),
        ]
    )


class OverviewCanvas(pg.PlotWidget):
    """The wheel zooms, dragging moves, a click chooses, arrow keys go to the next string."""

    chosen = Signal(int, int, bool)
    """Row, column, and whether to add to the selection."""
    pointed = Signal(int, int)
    """Row and column under the pointer; -1 for none."""

    def __init__(self, parent: QWidget | None = None) -> None:
        self.rows, self.columns = NameAxis("left"), NameAxis("top")
        axes = {"left": self.rows, "top": self.columns}
        super().__init__(parent, axisItems=axes, enableMenu=False)
        self.grid: OverviewGrid | None = None
        self.theme: Theme = LIGHT
        self.image = pg.ImageItem(axisOrder="row-major")
        self.words = CellWords()
        self.words.setZValue(1)
        self.addItem(self.image)
        self.addItem(self.words, ignoreBounds=True)
        item = self.getPlotItem()
        item.hideAxis("bottom")
        item.showAxis("top")
        item.hideButtons()
        item.vb.invertY(True)
        item.vb.sigRangeChanged.connect(self._range_changed)
        self.rows.setWidth(64)
        self.scene().sigMouseClicked.connect(self._clicked)
        self.scene().sigMouseMoved.connect(self._moved)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setAccessibleName("Site overview: combiners in rows, strings in columns")

    def set_theme(self, theme: Theme) -> None:
        self.theme = self.words.theme = theme
        self.setBackground(theme.base)
        for axis in (self.rows, self.columns):
            axis.setPen(theme.axis)
            axis.setTextPen(theme.axis)
        self._colour()

    def show_grid(self, grid: OverviewGrid | None) -> None:
        """Draw it; zoom and place stay as long as the grid is as large as before."""
        same = grid is not None and self.grid is not None and grid.shape == self.grid.shape
        self.grid = grid
        self.words.show_grid(grid)
        if grid is not None:
            self.rows.names = tuple(name or "–" for name in grid.overview.combiners)
            self.columns.names = tuple(str(k + 1) for k in range(grid.shape[1]))
        self._colour()
        if not same:
            self.fit()

    def fit(self) -> None:
        """Show the whole site."""
        if self.grid is None or 0 in self.grid.shape:
            return
        rows, columns = self.grid.shape
        view = self.getPlotItem().vb
        view.setLimits(
            xMin=-0.5,
            xMax=columns + 0.5,
            yMin=-0.5,
            yMax=rows + 0.5,
            minXRange=min(2.0, columns),
            minYRange=min(2.0, rows),
        )
        view.setRange(xRange=(0, columns), yRange=(0, rows), padding=0.0)

    def _range_changed(self, *_: object) -> None:
        self.words.update()

    def show_chosen(self, places: tuple[tuple[int, int], ...]) -> None:
        if places != self.words.chosen:
            self.words.chosen = places
            self.words.update()

    def _colour(self) -> None:
        if self.grid is None or 0 in self.grid.shape:
            self.image.clear()
            return
        self.image.setImage(cell_colours(self.grid, self.theme), levels=None, autoLevels=False)

    def cell_at(self, scene_position: QPointF) -> tuple[int, int] | None:
        """Row and column under a position in the scene, if a string is there."""
        if self.grid is None:
            return None
        view = self.getPlotItem().vb
        if not view.sceneBoundingRect().contains(scene_position):
            return None
        point = view.mapSceneToView(scene_position)
        row, column = int(np.floor(point.y())), int(np.floor(point.x()))
        inside = 0 <= row < self.grid.shape[0] and 0 <= column < self.grid.shape[1]
        return (row, column) if inside and self.grid.exists[row, column] else None

    def _clicked(self, event: object) -> None:
        if event.button() != Qt.MouseButton.LeftButton:  # type: ignore[attr-defined]
            return
        cell = self.cell_at(event.scenePos())  # type: ignore[attr-defined]
        if cell is not None:
            modifiers = event.modifiers()  # type: ignore[attr-defined]
            self.chosen.emit(*cell, bool(modifiers & Qt.KeyboardModifier.ControlModifier))

    def _moved(self, position: QPointF) -> None:
        self.pointed.emit(*(self.cell_at(position) or (-1, -1)))

    def keyPressEvent(self, event: QKeyEvent) -> None:
        step = STEPS.get(event.key())
        grid = self.grid
        if step is None or grid is None or not self.words.chosen:
            super().keyPressEvent(event)
            return
        row, column = self.words.chosen[-1]
        row, column = row + step[0], column + step[1]
        while 0 <= row < grid.shape[0] and 0 <= column < len(grid.traces[row]):
            if grid.traces[row][column]:
                self.chosen.emit(row, column, False)
                return
            row, column = row + step[0], column + step[1]


def cell_colours(grid: OverviewGrid, theme: Theme) -> np.ndarray:
    """RGBA of every cell, shape (rows, columns, 4)."""
    ends = {name: _rgb(getattr(theme, name)) for name in ("below", "level_with", "above")}
    share = np.abs(np.nan_to_num(grid.colour))[..., None]
    far = np.where((grid.colour < 0)[..., None], ends["below"], ends["above"])
    mixed = ends["level_with"] * (1.0 - share) + far * share
    unknown = ~np.isfinite(grid.colour)
    mixed[unknown] = _rgb(theme.line)
    made = np.empty((*grid.shape, 4), dtype=np.uint8)
    made[..., :3] = np.round(mixed)
    made[..., 3] = np.where(grid.exists, 255, 0)
    return made


def _rgb(colour: str) -> np.ndarray:
    made = QColor(colour)
    return np.array([made.red(), made.green(), made.blue()], dtype=float)

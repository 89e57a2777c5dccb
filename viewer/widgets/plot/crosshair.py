"""The crosshair: the point of the nearest curve under the mouse, with its V, I and P."""

from dataclasses import dataclass

import numpy as np
import pyqtgraph as pg
from PySide6.QtCore import QObject, QPointF, Signal

from viewer.reports.curve_figure import CurveFigure, Series
from viewer.state.plot.plot_data import nearest_curve
from viewer.widgets.plot.curve_canvas import CurveCanvas

MOVES_A_SECOND = 60


@dataclass(frozen=True)
class Reading:
    """A point of a measured curve: voltage, current, power, and the predicted current there."""

    trace_id: str
    label: str
    voltage: float
    current: float
    power: float
    predicted_current: float | None


class Crosshair(QObject):
    """Follows the mouse over a canvas. `read` passes a Reading, or None off the panels."""

    read = Signal(object)
    picked = Signal(str)
    """A curve was clicked; passes its trace id."""

    def __init__(self, canvas: CurveCanvas) -> None:
        super().__init__(canvas)
        self._canvas = canvas
        self._lines: dict[str, tuple[pg.InfiniteLine, pg.InfiniteLine]] = {}
        self._proxy = pg.SignalProxy(
            canvas.scene().sigMouseMoved, rateLimit=MOVES_A_SECOND, slot=self._moved
        )
        canvas.scene().sigMouseClicked.connect(self._clicked)
        canvas.figure_shown.connect(self._renew)

    def _renew(self) -> None:
        """Give every panel its two lines, at rest: what was drawn anew may be another curve."""
        for name, items in self._canvas.panels.items():
            if name not in self._lines:
                upright = pg.InfiniteLine(angle=90, movable=False)
                level = pg.InfiniteLine(angle=0, movable=False)
                for line in (upright, level):
                    line.setZValue(3)
                    line.hide()
                    items.plot.addItem(line, ignoreBounds=True)
                self._lines[name] = (upright, level)
        for line in (one for lines in self._lines.values() for one in lines):
            line.hide()
            line.setPen(pg.mkPen(self._canvas.theme.subtle, width=1))

    def hide(self) -> None:
        for lines in self._lines.values():
            for line in lines:
                line.hide()
        self.read.emit(None)

    def _moved(self, message: tuple[QPointF]) -> None:
        found = self.at_scene(message[0])
        if found is None:
            self.hide()
        else:
            self.show(*found)

    def _clicked(self, event: object) -> None:
        found = self.at_scene(event.scenePos())  # type: ignore[attr-defined]
        if found is not None:
            self.picked.emit(found[0].trace_id)

    def at_scene(self, place: QPointF) -> tuple[Series, float] | None:
        """Nearest series and x under a place of the scene."""
        figure = self._canvas.figure
        if figure is None:
            return None
        for panel in figure.panels:
            view = self._canvas.panels[panel.id].plot.vb
            if not view.sceneBoundingRect().contains(place):
                continue
            point = view.mapSceneToView(place)
            measured = [one for one in panel.series if one.role != "predicted" and len(one.x)]
            x_scale, y_scale = view.viewPixelSize()
            nearest = nearest_curve(
                [(one.x, one.y) for one in measured], point.x(), point.y(), x_scale, y_scale
            )
            if nearest is None:
                return None
            series = measured[nearest]
            return series, float(np.clip(point.x(), series.x[0], series.x[-1]))
        return None

    def show(self, series: Series, x: float) -> Reading | None:
        """Put the lines at a place of a curve of the figure, and read it."""
        figure = self._canvas.figure
        assert figure is not None
        for panel in figure.panels:
            upright, level = self._lines[panel.id]
            upright.setPos(x)
            upright.show()
            own = next((one for one in panel.series if _same(one, series)), None)
            level.setVisible(own is not None)
            if own is not None:
                level.setPos(float(np.interp(x, own.x, own.y)))
        found = reading(figure, series, x)
        self.read.emit(found)
        return found


def _same(one: Series, other: Series) -> bool:
    return one.trace_id == other.trace_id and one.role == other.role


def reading(figure: CurveFigure, series: Series, x: float) -> Reading | None:
    """V, I and P of a trace at x, from whichever panels the figure has."""
    values: dict[str, float] = {}
    predicted: float | None = None
    for panel in figure.panels:
        for one in panel.series:
            if one.trace_id != series.trace_id or not len(one.x):
                continue
            y = float(np.interp(x, one.x, one.y))
            if one.role == "predicted":
                if x > 0 and panel.id == "pv":
                    y /= x
                if panel.id == "iv" or predicted is None:
                    predicted = y
            else:
                values[panel.id] = y
    if "iv" in values:
        current = values["iv"]
    elif "pv" in values and x > 0:
        current = values["pv"] / x
    else:
        return None
    return Reading(series.trace_id, series.label, x, current, x * current, predicted)

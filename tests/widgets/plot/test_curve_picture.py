import numpy as np
import pyqtgraph as pg
import pytest
from PySide6.QtGui import QColor

from viewer.widgets.plot.curve_picture import CurvePicture, Line

RED = QColor("#FF0000")


@pytest.fixture
def plot(shown):
    widget = pg.PlotWidget(background="w")
    widget.hideAxis("left")
    widget.hideAxis("bottom")
    widget.setRange(xRange=(0, 10), yRange=(0, 10), padding=0)
    picture = CurvePicture()
    widget.addItem(picture, ignoreBounds=True)
    pen = pg.mkPen(RED, width=3)
    picture.show_lines([Line(np.array([0.0, 10.0]), np.array([2.0, 2.0]), pen, smooth=False)])
    shown(widget, 400, 300)
    widget.picture = picture
    return widget


def red_rows(widget) -> list[float]:
    """Heights, in the view's own unit, at which the middle column is red."""
    image = widget.viewport().grab().toImage()
    x = image.width() // 2
    rows = [y for y in range(image.height()) if image.pixelColor(x, y) == RED]
    view = widget.getViewBox()
    return [
        view.mapSceneToView(widget.mapToScene(x, y)).y()
        for y in (round(row / image.devicePixelRatio()) for row in rows)
    ]


def test_a_line_is_painted_where_it_lies(plot):
    assert np.mean(red_rows(plot)) == pytest.approx(2.0, abs=0.1)


def test_it_stays_in_place_when_the_view_moves(plot):
    for step in (1.0, 0.3, -2.5, -4.0):
        plot.getViewBox().translateBy(y=step)
        if red_rows(plot):
            assert np.mean(red_rows(plot)) == pytest.approx(2.0, abs=0.15)
    plot.getViewBox().setRange(yRange=(0, 10), padding=0)
    assert np.mean(red_rows(plot)) == pytest.approx(2.0, abs=0.1)


def test_it_stays_in_place_when_the_view_is_zoomed(plot, qtbot):
    plot.getViewBox().setRange(yRange=(1, 4), padding=0)
    assert np.mean(red_rows(plot)) == pytest.approx(2.0, abs=0.05)


def test_many_points_are_stretched_first_and_painted_anew_after_a_rest(plot, qtbot):
    x = np.linspace(0, 10, 40_000)
    pen = pg.mkPen(RED, width=3)
    plot.picture.show_lines([Line(x, np.full(len(x), 5.0), pen, smooth=False)])
    red_rows(plot)
    before = plot.picture._scale
    plot.getViewBox().setRange(yRange=(4, 6), padding=0)
    assert np.mean(red_rows(plot)) == pytest.approx(5.0, abs=0.1)
    assert plot.picture._scale == before
    qtbot.waitUntil(lambda: red_rows(plot) and plot.picture._scale != before, timeout=2000)
    assert np.mean(red_rows(plot)) == pytest.approx(5.0, abs=0.05)


def test_an_empty_picture_paints_nothing(plot):
    plot.picture.show_lines([])
    assert red_rows(plot) == []

"""Values of axes have the minus sign of all other numbers, whichever kind of plot it is."""

import pytest
from PySide6.QtGui import QFontMetricsF

from viewer.widgets.plot.curve_plot import CurvePlot
from viewer.widgets.plot.drawn_when_seen import DrawnWhenSeen
from viewer.widgets.plot.number_axis import NumberAxis
from viewer.widgets.plot.plain_plot import PlainPlot


def of_curves(session, look):
    plot = CurvePlot(session, look)
    session.choices.panels.value = ("difference",)
    return plot, plot.canvas.panels["difference"].plot


def beside_words(session, look):
    plot = PlainPlot("Residuals", "Measured - fitted (A)", "Voltage (V)")
    return plot, plot.getPlotItem()


def when_seen(session, look):
    plot = DrawnWhenSeen()
    return plot, plot.getPlotItem()


@pytest.mark.parametrize("made", [of_curves, beside_words, when_seen])
@pytest.mark.parametrize("side", ["left", "bottom"])
def test_negative_values_have_a_minus_sign(shown, session, look, made, side):
    widget, item = made(session, look)
    shown(widget)
    axis = item.getAxis(side)
    assert axis.tickStrings([-2.0, -0.5, 0.0, 1.0], 1.0, 0.5) == ["−2.0", "−0.5", "0", "1.0"]
    assert axis.tickStrings([-3e-7], 1.0, 1e-7) == ["−3 × 10⁻⁷"]


@pytest.mark.parametrize("side", ["left", "bottom"])
@pytest.mark.parametrize("most", [1.07, 640.0, 5200.0, 3.1e-7, 2.4e6])
@pytest.mark.parametrize("pixels", [40.0, 62.0, 90.0, 150.0, 400.0])
def test_no_value_runs_into_the_next(qapp, side, most, pixels):
    axis = NumberAxis(side)
    axis.setStyle(maxTickLevel=0)
    ((step, values),) = axis.tickValues(0.0, most, pixels)
    metrics = QFontMetricsF(qapp.font())
    written = axis.tickStrings(values, 1.0, step)
    along = metrics.ascent() if side == "left" else max(map(metrics.horizontalAdvance, written)) + 1
    assert step * pixels / most >= along
    if pixels == 400.0:
        assert len(values) >= 3


@pytest.mark.parametrize(
    ("values", "step", "written"),
    [
        ([-0.002, -0.001, 2.2e-19, 0.001], 0.001, ["−0.002", "−0.001", "0", "0.001"]),
        ([-0.2, -0.1, -2.8e-17, 0.1], 0.1, ["−0.2", "−0.1", "0", "0.1"]),
        ([0.0, 5e-5, 1e-4], 5e-5, ["0", "0.5 × 10⁻⁴", "1.0 × 10⁻⁴"]),
        ([0.0, 0.0002, 0.0004], 0.0002, ["0", "0.0002", "0.0004"]),
        ([9_000.0, 12_000.0], 3_000.0, ["9000", "12000"]),
        ([12_000.0, 12_000.5], 0.5, ["12000.0", "12000.5"]),
        ([0.0, 1e6, 2.5e6], 0.5e6, ["0", "1.0 × 10⁶", "2.5 × 10⁶"]),
        ([], 1.0, []),
    ],
)
def test_values_are_written_as_other_numbers_are(values, step, written):
    assert NumberAxis("left").tickStrings(values, 1.0, step) == written

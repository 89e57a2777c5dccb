"""Values of axes have the minus sign of all other numbers, whichever kind of plot it is."""

import pytest

from viewer.widgets.plot.curve_plot import CurvePlot
from viewer.widgets.plot.drawn_when_seen import DrawnWhenSeen
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
    assert axis.tickStrings([-3e-7], 1.0, 1e-7) == ["−3e−07"]

"""The band of uncertainty around the current string's predicted curve."""

import numpy as np
import pytest
from pytestqt.qtbot import QtBot

from viewer.site_data.resource_folder import example_folder
from viewer.state.session import Session
from viewer.state.visit_opening import open_site
from viewer.widgets.controls.theme import Look
from viewer.widgets.plot.curve_plot import CurvePlot


@pytest.fixture
def plot(qtbot: QtBot) -> CurvePlot:
    session = Session(open_site)
    made = CurvePlot(session, Look(session.settings))
    qtbot.addWidget(made)
    session.open(example_folder())
    return made


def test_band_holds_the_prediction(plot: CurvePlot) -> None:
    result = plot._session.current
    assert result is not None
    assert result.predicted_curve is not None
    assert plot.band.fill.isVisible()
    x, low = plot.band.low.getData()
    _, high = plot.band.high.getData()
    inside = x <= result.predicted_curve.voltage[-1]
    predicted = np.interp(x[inside], result.predicted_curve.voltage, result.predicted_curve.current)
    assert (low[inside] <= predicted + 0.02).all()
    assert (high[inside] >= predicted - 0.02).all()
    assert 0.01 < (high[0] - low[0]) / predicted[0] < 0.2


def test_no_band_where_curves_are_translated_or_gone(plot: CurvePlot) -> None:
    session = plot._session
    session.choices.form.value = "stc"
    assert not plot.band.fill.isVisible()
    session.choices.form.value = "measured"
    assert plot.band.fill.isVisible()
    session.selection.choose([])
    assert not plot.band.fill.isVisible()


def test_the_legend_names_the_band_while_there_is_one(plot: CurvePlot) -> None:
    words = "its uncertainty (k = 2)"
    assert words in [text for text, _ in plot.legend.entries()]
    assert words in plot.legend.accessibleDescription()
    plot._session.choices.form.value = "stc"
    assert words not in [text for text, _ in plot.legend.entries()]

from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
from PySide6.QtCore import QPointF

from tests.invented_results import invented_result
from viewer.physics.single_diode import DiodeParameters
from viewer.state.session import Arrival
from viewer.widgets.plot.curve_canvas import line_pen
from viewer.widgets.plot.curve_plot import CurvePlot
from viewer.widgets.plot.point_readout import reading_text


@pytest.fixture
def plot(shown, session, look):
    return shown(CurvePlot(session, look))


def line(plot, panel, role, style=0):
    """The points of the line in the panel's picture whose pen is that of the role and style."""
    figure = next(one for one in plot.canvas.figure.panels if one.id == panel)
    series = next(one for one in figure.series if (one.role, one.style) == (role, style))
    pen = line_pen(series, plot.canvas.theme.dark)
    lines = plot.canvas.panels[panel].picture.lines
    return next((one.x, one.y) for one in lines if one.pen == pen)


def test_the_selected_curve_lies_over_its_prediction(plot, session):
    result = session.current
    x, y = line(plot, "iv", "measured")
    assert np.array_equal(x, result.measured_curve.voltage)
    assert np.array_equal(y, result.measured_curve.current)
    _, y = line(plot, "iv", "predicted")
    assert np.array_equal(y, result.predicted_curve.current)
    x, y = line(plot, "pv", "measured")
    assert np.array_equal(y, x * result.measured_curve.current)


def test_key_points_are_marked_filled_and_open(plot, session):
    spots = plot.canvas.panels["iv"].marks[0].points()
    big = [spot for spot in spots if spot.size() > 8]
    assert len(big) == 6
    places = {(round(spot.pos().x(), 6), round(spot.pos().y(), 6)) for spot in big}
    points = session.current.measured
    assert (round(points.v_mp, 6), round(points.i_mp, 6)) in places


def test_many_curves_become_one_item_with_breaks(plot, session):
    session.take([Arrival(results=tuple(invented_result("C3", f"S{n}") for n in range(30)))])
    session.selection.choose([f"2024/C3/S{n}.csv" for n in range(30)])
    others = [one for one in plot.canvas.panels["iv"].picture.lines if one.joints is not None]
    assert len(others) == 1
    assert len(others[0].x) == 24 * 200
    assert (~others[0].joints).sum() == 24
    assert "24 others" in [text for text, _ in plot.legend.entries()]


def test_the_worst_of_many_curves_are_the_named_ones_and_pinned_ones_stay(plot, session):
    made = [invented_result("C3", f"S{n}", loss=0.01 * (n % 10)) for n in range(30)]
    session.take([Arrival(results=tuple(made))])
    session.selection.pin("2024/C3/S1.csv")
    session.selection.choose([one.trace.source for one in made], "2024/C3/S10.csv")
    named = {one.partition(",")[0] for one in plot.canvas.figure.labels().values()}
    assert named == {f"C3 S{n}" for n in (1, 8, 9, 10, 19, 29)}


def test_a_curve_that_is_not_of_the_shown_visit_bears_its_day(plot, session):
    def name():
        return plot.legend.entries()[0][0]

    assert name() == "C1 S2"
    session.selection.choose(["2024/C1/S2.csv"])
    assert name() == "C1 S2, 2024-06-03"
    session.choices.visit.value = "2024"
    assert name() == "C1 S2"
    session.choices.visit.value = None
    assert name() == "C1 S2, 2024-06-03"


def test_panels_laid_away_come_back_as_they_were(plot, session, qapp):
    canvas = plot.canvas
    whole = canvas.panels["iv"], canvas.panels["pv"]
    plot.crosshair._moved((canvas.panels["pv"].plot.vb.sceneBoundingRect().center(),))
    held = len(canvas.panels["pv"].plot.items)
    for panels in (("pv",), ("iv", "pv", "difference"), ("iv",), ("iv", "pv")):
        session.choices.panels.value = panels
        qapp.processEvents()
        assert tuple(canvas.panels) == panels
        for name in panels:
            bottom = canvas.panels[name].plot.getAxis("bottom")
            assert bottom.label.isVisible() == bottom.style["showValues"] == (name == panels[-1])
        shown = [canvas.panels[name].plot.sceneBoundingRect() for name in panels]
        assert all(one.height() > 80 for one in shown)
        assert all(one.bottom() <= after.top() + 1 for one, after in pairwise(shown))
    assert (canvas.panels["iv"], canvas.panels["pv"]) == whole
    assert len(canvas.panels["pv"].plot.items) == held
    assert not any(line.isVisible() for lines in plot.crosshair._lines.values() for line in lines)


def test_panels_share_the_voltage_axis(plot):
    current, power = (plot.canvas.panels[name].plot.vb for name in ("iv", "pv"))
    current.setXRange(100, 300, padding=0)
    assert power.viewRange()[0] == pytest.approx(current.viewRange()[0], rel=0.02)


def test_a_chosen_zoom_stays_while_strings_change_and_fit_undoes_it(plot, session):
    view = plot.canvas.panels["iv"].plot.vb
    view.setRange(xRange=(400, 500), yRange=(5, 6), padding=0)
    view.sigRangeChangedManually.emit([True, True])
    session.selection.choose(["2025/C1/S1.csv"])
    assert view.viewRange()[0] == pytest.approx([400, 500])
    plot.canvas.fit()
    assert view.viewRange()[0][0] == pytest.approx(0)
    assert view.viewRange()[0][1] > session.current.measured.v_oc


def test_another_form_redraws_and_fits(plot, session):
    session.choices.form.value = "relative"
    x, _ = line(plot, "iv", "predicted")
    assert x[-1] == pytest.approx(1.0)
    assert plot.canvas.panels["iv"].plot.vb.viewRange()[0][1] < 1.2


def test_the_difference_panel_can_be_added(plot, session):
    session.choices.panels.value = ("iv", "pv", "difference")
    assert list(plot.canvas.panels) == ["iv", "pv", "difference"]
    _, y = line(plot, "difference", "measured")
    lost = session.current.measured.i_sc - session.current.predicted.i_sc
    assert y[0] == pytest.approx(lost, rel=1e-6)


def test_the_crosshair_reads_v_i_and_p_of_the_nearest_curve(plot, session, qtbot):
    view = plot.canvas.panels["iv"].plot.vb
    curve = session.current.measured_curve
    place = view.mapViewToScene(QPointF(curve.voltage[50], curve.current[50]))
    readings = []
    plot.crosshair.read.connect(readings.append)
    plot.crosshair._moved((place,))
    reading = readings[-1]
    assert reading.voltage == pytest.approx(curve.voltage[50], rel=1e-6)
    assert reading.current == pytest.approx(curve.current[50], rel=1e-6)
    assert reading.power == pytest.approx(curve.voltage[50] * curve.current[50], rel=1e-6)
    predicted = session.current.predicted_curve
    wanted = np.interp(curve.voltage[50], predicted.voltage, predicted.current)
    assert reading.predicted_current == pytest.approx(wanted, rel=1e-6)
    assert plot.readout.text() == reading_text(reading)
    for unit in ("V", "A", "W"):
        assert unit in plot.readout.text().split()[2:]


def test_in_the_power_panel_the_crosshair_reads_the_same_current(plot, session):
    session.choices.panels.value = ("pv",)
    curve = session.current.measured_curve
    view = plot.canvas.panels["pv"].plot.vb
    power = curve.voltage[80] * curve.current[80]
    readings = []
    plot.crosshair.read.connect(readings.append)
    plot.crosshair._moved((view.mapViewToScene(QPointF(curve.voltage[80], power)),))
    assert readings[-1].current == pytest.approx(curve.current[80], rel=1e-3)


def test_what_cannot_be_drawn_is_said(plot, session):
    bare = invented_result("C4", "S1", with_prediction=False)
    session.take([Arrival(results=(bare,))])
    session.selection.choose([bare.trace.source])
    session.choices.form.value = "relative"
    assert plot.left_out.isVisible()
    assert "irradiance" in plot.left_out.text()


def test_the_legend_wraps_instead_of_clipping(plot, session):
    session.selection.choose([one.trace.source for one in session.results])
    legend = plot.legend
    width = 300
    assert legend.heightForWidth(width) > legend.heightForWidth(2000)
    assert all(place.right() <= width or place.left() == 0 for place in legend._places(width))


def test_dark_and_light_recolour_the_lines(plot, session, look):
    from viewer.reports.curve_styles import STYLES
    from viewer.widgets.controls.theme import DARK

    def colour():
        return plot.canvas.panels["iv"].picture.lines[-1].pen.color().name()

    assert colour() == STYLES[0].on_light.lower()
    look.theme.value = DARK
    assert colour() == STYLES[0].on_dark.lower()


def test_the_legend_says_which_curves_are_pinned(plot, session):
    one, other = "2025/C1/S1.csv", "2025/C1/S2.csv"
    session.selection.pin(one)
    session.selection.choose([other])
    texts = [text for text, _ in plot.legend.entries()]
    assert texts[0].endswith(", pinned")
    assert not texts[1].endswith(", pinned")
    assert texts[0] in plot.legend.accessibleDescription()
    assert texts[0] in plot.canvas.accessibleDescription()
    many = [row.trace_id for row in session.rows]
    session.settings.value = replace(session.settings.value, styled_curves=1)
    session.selection.choose(many, other)
    assert any("1 of them pinned" in text for text, _ in plot.legend.entries())
    session.selection.unpin_all()
    assert not any("pinned" in text for text, _ in plot.legend.entries())


def test_the_legend_says_that_the_prediction_is_at_stc(plot, session):
    known = session.current
    model = DiodeParameters.of(9.4, 1e-9, 0.4, 500.0, 20.0)
    session.take([Arrival(results=(replace(known, model_at_stc=model),))])
    words = "predicted at STC from the datasheet (its marks open)"
    assert words not in plot.legend.accessibleDescription()
    session.choices.form.value = "stc"
    assert words in [text for text, _ in plot.legend.entries()]
    assert words in plot.legend.accessibleDescription()
    x, _ = line(plot, "iv", "predicted")
    assert len(x) == 200


def test_the_crosshair_goes_when_the_mouse_rests_and_another_curve_is_drawn(plot, session):
    view = plot.canvas.panels["iv"].plot.vb
    plot.crosshair._moved((view.sceneBoundingRect().center(),))
    lines = [line for pair in plot.crosshair._lines.values() for line in pair]
    assert all(line.isVisible() for line in lines)
    session.selection.choose(["2025/C1/S4.csv"])
    assert plot.readout.text() == ""
    assert not any(line.isVisible() for line in lines), "lines of the curve before"

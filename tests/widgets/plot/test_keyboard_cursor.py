"""The crosshair by keyboard: point by point along the current curve, shown and spoken."""

import numpy as np
import pytest
from PySide6.QtCore import QPointF, Qt

from viewer.widgets.plot.curve_plot import CurvePlot

KEY = Qt.Key


@pytest.fixture
def plot(shown, session, look):
    made = shown(CurvePlot(session, look))
    made.canvas.setFocus()
    return made


def press(plot, qtbot, *keys):
    for key in keys:
        qtbot.keyClick(plot.canvas, key)


def at(plot, session, place, name="iv"):
    """Whether readout, crosshair and spoken text are at that point of the current curve."""
    curve = session.current.measured_curve
    voltage, current = float(curve.voltage[place]), float(curve.current[place])
    said = plot.canvas.accessibleDescription()
    upright, level = plot.crosshair._lines[name]
    count = len(curve.voltage)
    number = place if place >= 0 else count + place
    assert f"voltage {voltage:.2f} V, current {current:.3f} A" in said.replace("−", "-")
    assert f"power {voltage * current:.1f} W" in said.replace("−", "-")
    assert f"point {number + 1} of {count}" in said
    assert f"V {voltage:.2f} V" in plot.readout.text()
    assert upright.isVisible()
    assert level.isVisible()
    return upright.value() == voltage


def test_keys_step_from_point_to_point(plot, session, qtbot):
    press(plot, qtbot, KEY.Key_Right)
    assert at(plot, session, 0)
    press(plot, qtbot, KEY.Key_Right, KEY.Key_Up)
    assert at(plot, session, 2)
    press(plot, qtbot, KEY.Key_PageUp)
    assert at(plot, session, 12)
    press(plot, qtbot, KEY.Key_Left)
    assert at(plot, session, 11)
    press(plot, qtbot, KEY.Key_PageDown, KEY.Key_PageDown)
    assert at(plot, session, 0)
    press(plot, qtbot, KEY.Key_End)
    assert at(plot, session, -1)
    press(plot, qtbot, KEY.Key_Right, KEY.Key_Home)
    assert at(plot, session, 0)


def test_the_first_key_to_the_left_begins_at_the_end(plot, session, qtbot):
    press(plot, qtbot, KEY.Key_Left)
    assert at(plot, session, -1)


def test_the_predicted_current_is_spoken_too(plot, session, qtbot):
    press(plot, qtbot, KEY.Key_Home, KEY.Key_PageUp)
    x = session.current.measured_curve.voltage[10]
    predicted = session.current.predicted_curve
    wanted = np.interp(x, predicted.voltage, predicted.current)
    assert f"predicted current {wanted:.3f} A" in plot.canvas.accessibleDescription()


def test_it_stays_while_the_figure_is_drawn_anew_and_goes_with_its_curve(plot, session, qtbot):
    usual = plot.canvas.accessibleDescription()
    press(plot, qtbot, KEY.Key_Home, KEY.Key_PageUp)
    plot.draw()
    assert at(plot, session, 10)
    session.choices.form.value = "relative"
    assert "of the predicted Voc" in plot.canvas.accessibleDescription()
    session.choices.form.value = "measured"
    assert at(plot, session, 10)
    before = session.selection.current
    session.selection.choose(["2025/C1/S4.csv"])
    assert "point" not in plot.canvas.accessibleDescription().split(";")[-1]
    assert not plot.crosshair._lines["iv"][0].isVisible()
    session.selection.choose([before])
    assert plot.canvas.accessibleDescription() == usual


def test_the_mouse_takes_the_crosshair_over(plot, session, qtbot):
    usual = plot.canvas.accessibleDescription()
    press(plot, qtbot, KEY.Key_Home)
    view = plot.canvas.panels["iv"].plot.vb
    curve = session.current.measured_curve
    plot.crosshair._moved((view.mapViewToScene(QPointF(curve.voltage[50], curve.current[50])),))
    assert plot.canvas.accessibleDescription() == usual
    assert f"V {curve.voltage[50]:.2f} V" in plot.readout.text()
    press(plot, qtbot, KEY.Key_Right)
    assert at(plot, session, 0)


def test_with_one_panel_and_without_a_curve(plot, session, qtbot):
    session.choices.panels.value = ("pv",)
    press(plot, qtbot, KEY.Key_End, KEY.Key_PageDown)
    assert at(plot, session, -11, "pv")
    session.selection.clear()
    press(plot, qtbot, KEY.Key_Right)
    assert plot.canvas.accessibleDescription() == ""


def test_a_zoomed_plot_follows_the_cursor(plot, session, qtbot):
    view = plot.canvas.panels["iv"].plot.vb
    view.setRange(xRange=(400, 500), padding=0)
    view.sigRangeChangedManually.emit([True, True])
    press(plot, qtbot, KEY.Key_End)
    low, high = view.viewRange()[0]
    assert low < session.current.measured_curve.voltage[-1] < high
    assert high - low == pytest.approx(100)


def test_other_keys_are_left_alone(plot, session, qtbot):
    usual = plot.canvas.accessibleDescription()
    qtbot.keyClick(plot.canvas, KEY.Key_Right, Qt.KeyboardModifier.ControlModifier)
    press(plot, qtbot, KEY.Key_A)
    assert plot.canvas.accessibleDescription() == usual

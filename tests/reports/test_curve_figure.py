"""Figures of traces: forms, labels and files."""

import xml.etree.ElementTree as ElementTree
from dataclasses import replace
from datetime import datetime

import numpy as np
import pytest
from matplotlib.image import imread

from tests.invented_results import FIRST_DAY, SECOND_DAY, invented_result
from viewer.reports.curve_figure import curve_figure, trace_label
from viewer.reports.curve_figure_file import save_curve_figure
from viewer.reports.print_styles import PRINT_STYLES

ONE = invented_result("C1", "S1", loss=0.1)
TWO = invented_result("C1", "S2")
BARE = invented_result("C1", "S3", with_prediction=False)
STYLED = {ONE.trace.source: 0, TWO.trace.source: 1, BARE.trace.source: 2}


def series(figure, panel, role):
    return [one for one in figure.panels[panel].series if one.role == role]


def test_measured_curves_lie_over_their_predictions():
    figure = curve_figure([ONE, TWO], STYLED)
    assert [panel.id for panel in figure.panels] == ["iv", "pv"]
    assert [one.label for one in series(figure, 0, "measured")] == ["C1 S1", "C1 S2"]
    assert len(series(figure, 0, "predicted")) == 2
    power = series(figure, 1, "measured")[0]
    assert np.array_equal(power.y, ONE.measured_curve.voltage * ONE.measured_curve.current)


def test_curves_without_a_style_are_the_others():
    figure = curve_figure([ONE, TWO], {ONE.trace.source: 0})
    assert [one.trace_id for one in series(figure, 0, "other")] == [TWO.trace.source]
    assert figure.labels() == {0: "C1 S1"}


def test_key_points_are_marked_where_they_lie_in_each_panel():
    figure = curve_figure([ONE], STYLED)
    current, power = (next(one for one in panel.marks if one.measured) for panel in figure.panels)
    points = ONE.measured
    assert current.x.tolist() == [0.0, points.v_mp, points.v_oc]
    assert current.y.tolist() == [points.i_sc, points.i_mp, 0.0]
    assert power.y[0] == pytest.approx(points.p_mp)


def test_relative_to_predicted_the_prediction_ends_at_one():
    figure = curve_figure([ONE], STYLED, form="relative")
    predicted = series(figure, 0, "predicted")[0]
    assert predicted.x[-1] == pytest.approx(1.0)
    assert predicted.y[0] == pytest.approx(1.0)
    mark = next(one for one in figure.panels[1].marks if not one.measured)
    assert mark.y[0] == pytest.approx(ONE.predicted.fill_factor)


def test_what_a_form_cannot_show_is_said_with_its_reason():
    figure = curve_figure([ONE, BARE], STYLED, form="relative")
    assert len(series(figure, 0, "measured")) == 1
    assert len(figure.left_out) == 1
    assert figure.left_out[0].startswith("C1 S3: ")
    assert "irradiance" in figure.left_out[0]


def test_the_difference_of_a_curve_to_its_own_prediction_is_the_lost_current():
    figure = curve_figure([ONE], STYLED, panels=("difference",))
    line = figure.panels[0].series[0]
    wanted = ONE.measured.i_sc - ONE.predicted.i_sc
    assert line.y[0] == pytest.approx(wanted, rel=1e-6)


def test_days_are_named_only_when_they_differ():
    later = invented_result("C1", "S1", SECOND_DAY)
    figure = curve_figure([ONE, later], {ONE.trace.source: 0, later.trace.source: 1})
    assert list(figure.labels().values()) == ["C1 S1, 2024-06-03", "C1 S1, 2025-06-05"]
    assert trace_label(ONE) == "C1 S1"
    assert FIRST_DAY.date().isoformat() in trace_label(ONE, with_day=True)


def test_svg_holds_the_labels_as_text(tmp_path):
    path = tmp_path / "curves.svg"
    save_curve_figure(curve_figure([ONE, BARE], STYLED), path)
    words = "".join(ElementTree.parse(path).getroot().itertext())
    for wanted in ("C1 S1", "C1 S3", "Voltage (V)", "Current (A)", "Power (W)", "As measured"):
        assert wanted in words


def test_png_shows_the_colour_of_each_curve(tmp_path):
    path = tmp_path / "curves.png"
    save_curve_figure(curve_figure([ONE, TWO], STYLED), path)
    pixels = (imread(path)[:, :, :3] * 255).round().astype(int).reshape(-1, 3)
    for style in PRINT_STYLES[:2]:
        wanted = [int(style.colour[at : at + 2], 16) for at in (1, 3, 5)]
        assert (pixels == wanted).all(axis=1).sum() > 100


def test_a_figure_of_nothing_can_be_saved(tmp_path):
    path = tmp_path / "empty.png"
    save_curve_figure(curve_figure([], {}), path)
    beside = tmp_path / "curves.png"
    save_curve_figure(curve_figure([ONE], STYLED), beside)
    assert imread(path).shape == imread(beside).shape


def test_an_unknown_suffix_is_refused_in_one_sentence(tmp_path):
    with pytest.raises(ValueError, match=r"curves\.bmp: a plot is saved as \.png, \.svg, \.pdf"):
        save_curve_figure(curve_figure([], {}), tmp_path / "curves.bmp")


def test_two_traces_of_a_string_on_one_day_are_told_apart_by_their_time():
    """Both were called the same in the legend."""
    at = datetime(2026, 9, 15, 12, 36)
    first, second = (invented_result("C1", "S9", at.replace(hour=hour)) for hour in (12, 13))
    twice = [first, replace(second, trace=replace(second.trace, source="again.csv"))]
    other = invented_result("C1", "S1", at)
    sources = [one.trace.source for one in (*twice, other)]
    assert len(set(sources)) == 3
    figure = curve_figure([*twice, other], {source: n for n, source in enumerate(sources)})
    labels = {one.label for one in figure.panels[0].series}
    assert labels == {"C1 S9, 2026-09-15 12:36", "C1 S9, 2026-09-15 13:36", "C1 S1"}

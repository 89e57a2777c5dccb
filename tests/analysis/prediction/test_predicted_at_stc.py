"""What the datasheet gives for a whole string at standard test conditions."""

from dataclasses import replace

import numpy as np
import pytest

from tests.app.invented_site import write_site
from viewer.analysis.losses.mismatch import combiner_mismatch, curves_of
from viewer.analysis.prediction.prediction import predicted_at_stc
from viewer.reports.curve_figure import curve_figure
from viewer.state.session import Session
from viewer.state.visit_opening import open_site


@pytest.fixture(scope="module")
def results(tmp_path_factory):
    folder = write_site(tmp_path_factory.mktemp("site"), strings=3, years=(2020, 2025), fallen=0.1)
    opened = Session(open_site)
    opened.open(folder)
    return opened.results


def test_it_is_the_datasheet_times_the_modules_in_series(results):
    curve, points = predicted_at_stc(results[0])
    assert points.i_sc == pytest.approx(9.5, rel=1e-6)
    assert points.v_oc == pytest.approx(20 * 45.5, rel=1e-6)
    assert points.p_mp == pytest.approx(20 * 9.0 * 37.5, rel=1e-6)
    assert np.max(curve.voltage * curve.current) == pytest.approx(points.p_mp, rel=1e-3)
    assert curve.voltage[-1] == pytest.approx(points.v_oc, rel=1e-9)


def test_strings_alike_share_one_record(results):
    assert len({id(one.model_at_stc) for one in results if one.trace.source < "2021"}) <= 2


def test_there_is_none_without_a_prediction(results):
    assert predicted_at_stc(replace(results[0], model_at_stc=None)) is None


def test_the_translated_curve_lies_over_it(results):
    one = results[0]
    figure = curve_figure([one], {one.trace.source: 0}, "stc", ("iv", "pv", "difference"))
    predicted = [s for s in figure.panels[0].series if s.role == "predicted"]
    assert [s.y[0] for s in predicted] == [pytest.approx(9.5, rel=1e-6)]
    marks = [m for m in figure.panels[1].marks if not m.measured]
    assert marks[0].y[0] == pytest.approx(20 * 9.0 * 37.5, rel=1e-6)
    (difference,) = figure.panels[2].series
    assert np.abs(difference.y).max() < 0.3
    assert figure.predicted == "predicted at STC from the datasheet"
    assert curve_figure([one], {one.trace.source: 0}).predicted == "predicted"


def test_a_combiner_at_stc_is_held_against_it(results):
    box = [one for one in results if one.trace.source.startswith("2025/CB1")]
    curves, basis = curves_of(box)
    assert basis == "translated to standard test conditions"
    made = combiner_mismatch(curves)
    assert made.expected_from == "each string's prediction at these conditions"
    sound = 3 * 20 * 9.0 * 37.5
    assert made.p_mp + made.gain_of_worst[-1] == pytest.approx(sound, rel=1e-3)
    assert made.worst_first[0] == "S1"

"""What a finding is about, on curves whose stair, gap and ends are known by construction."""

from dataclasses import replace

import numpy as np
import pytest

from tests.invented_results import invented_result, points_of
from viewer.analysis.results.trace_result import (
    CAUSES,
    KINDS,
    CandidateCause,
    Curve,
    Signature,
)
from viewer.state.plot.highlight import CAUSE_SHOWS, highlight_of, highlights_of_cause


def stepped(level=4.0, start=600.0, end=700.0):
    """A curve at 9 A that falls at `start` volts to a plateau at `level`, left at `end`."""
    voltage = np.linspace(0.0, 800.0, 801)
    current = np.interp(voltage, [0, start - 20, start, end, 800.0], [9.0, 9.0, level, level, 0.0])
    curve = Curve(voltage, current)
    return replace(invented_result(), measured_curve=curve, measured=points_of(curve))


def stair(fraction, span):
    details = {"current_fraction": fraction, "voltage_span": span, "bypass_groups": 2}
    return Signature("step", fraction, "of i_sc", "two groups", details)


def test_a_stair_is_shown_at_its_current_from_its_begin_to_its_end():
    found = highlight_of(stepped(), stair(4.0 / 9.0, 100.0))
    assert found.level == pytest.approx(4.0)
    assert found.start == pytest.approx(600.0, abs=3.0)
    assert found.end == pytest.approx(700.0, abs=8.0)
    assert "2 groups at 4.00 A, 100 V wide" in found.words


def test_a_stair_whose_plateau_is_not_on_the_curve_still_has_its_span():
    found = highlight_of(stepped(level=4.0), stair(0.75, 60.0))
    assert found.end - found.start == pytest.approx(60.0, abs=12.0)
    assert found.end < 600.0


def test_gaps_end_on_both_curves():
    result = invented_result(loss=0.1)
    low = highlight_of(result, Signature("low_current", 0.1, "fraction", "low"))
    (_, measured), (_, predicted) = low.gap
    assert measured == pytest.approx(0.9 * predicted, rel=0.01)
    volts = highlight_of(result, Signature("low_voltage", 5.0, "V", "low"))
    assert [point[0] for point in volts.gap] == [result.measured.v_oc, result.predicted.v_oc]


@pytest.mark.parametrize("kind", KINDS)
def test_every_kind_of_signature_is_shown_within_the_curve(kind):
    result = invented_result(loss=0.1)
    details = {"input": "temperature_cell", "current_fraction": 0.5, "voltage_span": 40.0}
    found = highlight_of(result, Signature(kind, 0.5, "", "", details))
    assert 0.0 <= found.start <= found.end <= 1.01 * result.predicted.v_oc


def test_a_cause_shows_every_signature_of_the_foremost_kind_present():
    result = replace(
        stepped(),
        signatures=(stair(0.45, 50.0), stair(0.7, 20.0), Signature("low_voltage", 3.0, "V", "")),
    )
    shade = CandidateCause("shading", 0.8, "", "")
    assert [one.kind for one in highlights_of_cause(result, shade)] == ["step", "step"]
    assert highlights_of_cause(result, CandidateCause("shunt", 0.1, "", "")) == ()


def test_a_wrong_temperature_is_not_shown_by_the_irradiance():
    signature = Signature("inputs_suspect", 3.0, "%", "", {"input": "poa_global"})
    result = replace(invented_result(), signatures=(signature,))
    assert highlights_of_cause(result, CandidateCause("temperature_input", 0.9, "", "")) == ()
    assert highlights_of_cause(result, CandidateCause("irradiance_input", 0.9, "", ""))


def test_what_speaks_for_each_cause_is_a_kind():
    """For a cause left out the pane would say that nothing on the curve speaks for it."""
    assert set(CAUSE_SHOWS) == set(CAUSES)
    assert {kind for kinds in CAUSE_SHOWS.values() for kind in kinds} <= set(KINDS)

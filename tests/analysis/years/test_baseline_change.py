"""A string against its baseline: what changed, and whether it is more than the uncertainty."""

from dataclasses import replace
from math import sqrt

import pytest

from tests.analysis.years.test_trend import SHEET, observation, observed
from viewer.analysis.years.baseline_change import changes, visit_changes
from viewer.analysis.years.observation import Observation, stc_uncertainty
from viewer.physics.nomenclature import KEY_POINT_NAMES
from viewer.physics.uncertainty.uncertainty import InputUncertainties

INPUTS = InputUncertainties(
    irradiance=0.01, temperature_cell=1.0, current=0.0, voltage=0.0, procedure=0.0
)


def traced(visit: int, v_oc: float = 1090.0, number: int = 0) -> Observation:
    one = observation(0, number, visit, float(visit), 9.5, v_oc, 0.78)
    values = one.values | {"i_mp": 9.0, "v_mp": one.values["p_mp"] / 9.0}
    return replace(one, values=values, uncertainty=stc_uncertainty(SHEET, INPUTS))


def test_a_lost_bypass_group_is_beyond_the_uncertainty_of_voc_alone() -> None:
    found = {one.name: one for one in changes(traced(0), traced(1, 1090.0 * 71 / 72))}
    assert set(found) == set(KEY_POINT_NAMES)
    assert found["v_oc"].percent == pytest.approx(-100 / 72)
    # beta_voc -0.29 %/K at 1 K on both visits, k = 2: 2 · sqrt(2) · 0.29 % = 0.82 %
    assert found["v_oc"].expanded == pytest.approx(2 * sqrt(2) * 0.29 * 71 / 72)
    assert found["v_oc"].is_beyond
    assert not found["p_mp"].is_beyond  # 1.4 % is less than two irradiance readings allow
    assert not found["i_sc"].is_beyond
    assert found["v_oc"].text() == "Voc -1.4 ± 0.8 % (k = 2), changed"
    assert found["i_sc"].text().endswith("no change shown")


def test_the_same_instruments_leave_only_what_differs_from_trace_to_trace() -> None:
    apart = {one.name: one for one in changes(traced(0), traced(1))}
    alike = {one.name: one for one in changes(traced(0), traced(1), same_instruments=True)}
    assert apart["p_mp"].expanded == pytest.approx(2 * sqrt(2) * sqrt(1.0**2 + 0.37**2))
    assert alike["p_mp"].expanded == pytest.approx(2 * sqrt(2) * 0.37)


def test_strings_are_paired_over_visits_and_cleaned_traces_preferred() -> None:
    dirty = replace(traced(1, 1000.0), cleaned=False, source="dirty", years=1.2)
    clean = replace(traced(1, 1080.0), cleaned=True, source="clean")
    made = [traced(0), clean, dirty, traced(1, number=5), traced(0, number=6)]
    (one,) = visit_changes(observed(made), 0, 1)
    assert (one.place, one.now) == (("CB0", "S0"), "clean")
    assert one.change("v_oc").now == 1080.0
    assert one.beyond == ("v_oc",)

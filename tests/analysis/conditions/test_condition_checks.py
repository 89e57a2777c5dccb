"""Which reading gives the conditions, in which order, and what each check says."""

from dataclasses import replace
from datetime import UTC, datetime

import numpy as np
import pytest

from tests.analysis.one_trace import resolve_conditions
from viewer.analysis.conditions.condition_checks import resolve_many
from viewer.analysis.conditions.condition_sources import ConditionRules
from viewer.analysis.conditions.condition_thresholds import (
    SOURCES,
    THRESHOLD_NAMES,
    ConditionThresholds,
)
from viewer.analysis.results.trace_result import Check, UsedConditions
from viewer.physics.measured_sweep.key_points import KeyPoints
from viewer.site_data.datasheet import Datasheet
from viewer.site_data.iv_trace import MeasuredConditions, Trace
from viewer.site_data.site_layout import Combiner, Location, Mounting, SiteLayout, StringLayout

MODULE = Datasheet("M", "mono-Si", 10.0, 50.0, 9.4, 42.0, 0.05, -0.28, -0.36, 72)
LAYOUT = SiteLayout(
    "Site",
    {"M": MODULE, "B": replace(MODULE, key="B", bifaciality=0.7)},
    (Combiner("C", (StringLayout("1", "M", 20), StringLayout("2", "B", 20))),),
    Location(39.742476, -105.1786, 1830.14, "Etc/GMT+7"),
    Mounting(30.0, 170.0),
)
MEASURED = KeyPoints(8.1, 936.0, 7.6, 780.0, 5930.0, 0.78)
NOON = datetime(2024, 6, 21, 12, 0)


def trace(string: str = "1", when: datetime | None = NOON, **read: float) -> Trace:
    some = np.array([0.0, 1.0, 2.0])
    return Trace("t.csv", some, some, "C", string, when, MeasuredConditions(**read))


def used(string: str = "1", when: datetime | None = NOON, **read: float) -> UsedConditions:
    return resolve_conditions(trace(string, when, **read), LAYOUT, MEASURED)


def check(found: UsedConditions, name: str) -> Check:
    return next(one for one in found.checks if one.check == name)


def names(found: UsedConditions) -> set[str]:
    return {one.check for one in found.checks}


def test_module_back_reading_gets_three_kelvin_per_1000() -> None:
    found = used(poa_global=800.0, temperature_module=50.0)
    assert found.temperature_cell == pytest.approx(52.4)
    assert "module's back at 50.0 °C" in found.temperature_from


def test_a_cell_reading_goes_before_the_module_back() -> None:
    found = used(poa_global=800.0, temperature_module=50.0, temperature_cell=51.0)
    assert found.temperature_cell == 51.0


def test_air_and_wind_serve_when_no_module_reading_was_taken() -> None:
    found = used(poa_global=800.0, temperature_air=20.0, wind_speed=2.0)
    assert found.temperature_cell == pytest.approx(41.98, abs=0.01)
    assert "Sandia model" in found.temperature_from


def test_voc_serves_last_and_fails_the_check_on_missing_values() -> None:
    found = used(poa_global=800.0)
    assert found.temperature_cell == pytest.approx(found.temperature_from_voc)
    assert found.curve_decides == ("temperature_cell",)
    assert "IEC 60904-5" in found.temperature_from
    assert not check(found, "missing values").passed
    assert "cell temperature against Voc" not in names(found)


def test_air_without_wind_is_not_enough_and_no_wind_is_invented() -> None:
    rules = ConditionRules(temperature_order=("cell", "module", "air and wind"))
    found = resolve_conditions(
        trace(poa_global=800.0, temperature_air=20.0), LAYOUT, MEASURED, rules=rules
    )
    assert found.temperature_cell is None
    assert "without wind speed" in found.temperature_from


def test_mean_of_irradiance_before_and_after() -> None:
    found = used(poa_global=800.0, poa_global_end=810.0, temperature_cell=50.0)
    assert found.poa_global == pytest.approx(805.0)
    assert "mean" in found.irradiance_from
    assert check(found, "irradiance drift").passed


def test_reference_cell_is_corrected_for_its_temperature() -> None:
    found = used(reference_cell=816.0, temperature_reference_cell=65.0, temperature_cell=50.0)
    assert found.poa_global == pytest.approx(816.0 * 0.98)
    assert "reference cell" in found.irradiance_from


def test_reference_cell_without_its_temperature_is_not_used() -> None:
    found = used(reference_cell=816.0, temperature_cell=50.0)
    assert found.poa_global is None
    assert "temperature_reference_cell" in found.irradiance_from


def test_no_irradiance_is_said_and_nothing_put_in_its_place() -> None:
    found = used(temperature_module=50.0)
    assert found.poa_global is None
    assert found.temperature_cell is None
    assert "no irradiance was recorded" in check(found, "missing values").detail


def test_isc_stands_in_only_when_asked_and_never_together_with_voc() -> None:
    rules = ConditionRules(irradiance_order=("sensor", "isc"))
    found = resolve_conditions(trace(temperature_module=50.0), LAYOUT, MEASURED, rules=rules)
    assert found.poa_global == pytest.approx(1000 * 8.1 / (10.0 * (1 + 0.0005 * 25)))
    assert found.curve_decides == ("poa_global",)
    nothing = resolve_conditions(trace(), LAYOUT, MEASURED, rules=rules)
    assert nothing.poa_global is None
    assert nothing.temperature_cell is None


def test_rear_irradiance_of_a_bifacial_module() -> None:
    found = used("2", poa_global=800.0, poa_rear=100.0, temperature_cell=50.0)
    assert found.poa_global == 800.0
    assert found.effective_irradiance == pytest.approx(870.0)
    assert "IEC TS 60904-1-2" in found.irradiance_from


def test_bifacial_without_rear_reading_says_so() -> None:
    found = used("2", poa_global=800.0, temperature_cell=50.0)
    assert found.effective_irradiance == 800.0
    assert "poa_rear" in found.irradiance_from
    assert found.rear_unknown
    assert not check(found, "rear irradiance").passed
    for sort, read in (("1", {}), ("2", {"poa_rear": 0.0})):
        other = used(sort, poa_global=800.0, temperature_cell=50.0, **read)
        assert not other.rear_unknown
        assert "rear irradiance" not in names(other)


@pytest.mark.parametrize(
    ("read", "name", "passed"),
    [
        ({"poa_global": 700.0}, "irradiance for power", True),
        ({"poa_global": 699.0}, "irradiance for power", False),
        ({"poa_global": 399.0}, "irradiance for comparison", False),
        ({"poa_global": 1700.0}, "irradiance plausible", False),
        ({"poa_global": 800.0, "poa_global_end": 700.0}, "irradiance drift", False),
        ({"poa_global": 800.0, "wind_speed": 12.0}, "wind", False),
        ({"poa_global": 800.0, "wind_speed": 3.0}, "wind", True),
        ({"poa_global": 805.0}, "irradiance against Isc", True),
        ({"poa_global": 900.0}, "irradiance against Isc", False),
        ({"poa_global": 800.0}, "cell temperature against Voc", True),
        ({"poa_global": 800.0, "temperature_cell": 30.0}, "cell temperature against Voc", False),
        ({"poa_global": 800.0, "temperature_cell": 120.0}, "temperature plausible", False),
    ],
)
def test_thresholds(read: dict[str, float], name: str, passed: bool) -> None:
    read = {"temperature_cell": 44.0, **read}
    one = check(used(**read), name)
    assert one.passed is passed
    assert "(" in one.detail


def test_a_failing_trace_keeps_its_conditions() -> None:
    found = used(poa_global=150.0, poa_global_end=300.0, temperature_module=20.0)
    assert found.poa_global is not None
    assert found.temperature_cell is not None
    assert not check(found, "irradiance drift").passed


def test_thresholds_can_be_edited_and_switched_off() -> None:
    low = ConditionThresholds(irradiance_for_power=500.0, wind_speed=None)
    found = resolve_conditions(
        trace(poa_global=600.0, temperature_cell=40.0, wind_speed=20.0),
        LAYOUT,
        MEASURED,
        thresholds=low,
    )
    assert check(found, "irradiance for power").passed
    assert "wind" not in names(found)


def test_every_threshold_states_its_source() -> None:
    assert set(SOURCES) == set(THRESHOLD_NAMES)
    assert all(SOURCES.values())


def test_sun_in_the_site_s_zone_and_its_incidence() -> None:
    """The NREL worked example (NREL/TP-560-34302, A.5) has an incidence of 25.187°."""
    found = used(when=datetime(2003, 10, 17, 12, 30, 30), poa_global=800.0, temperature_cell=45.0)
    assert found.incidence_angle == pytest.approx(25.187, abs=0.01)
    assert check(found, "incidence angle").passed
    same = used(
        when=datetime(2003, 10, 17, 19, 30, 30, tzinfo=UTC), poa_global=800.0, temperature_cell=45.0
    )
    assert same.incidence_angle == pytest.approx(found.incidence_angle, abs=1e-9)


def test_a_trace_at_night_has_a_wrong_clock() -> None:
    found = used(when=datetime(2024, 6, 21, 1, 0), poa_global=800.0, temperature_cell=45.0)
    assert not check(found, "time against sun").passed
    assert "time zone" in check(found, "time against sun").detail


def test_without_time_or_place_the_sun_is_left_out() -> None:
    no_time = used(when=None, poa_global=800.0, temperature_cell=45.0)
    assert no_time.incidence_angle is None
    assert "measured_at" in check(no_time, "missing values").detail
    nowhere = resolve_conditions(trace(poa_global=800.0, temperature_cell=45.0))
    assert nowhere.sun_elevation is None
    assert nowhere.poa_global == 800.0


def test_many_at_once_equal_one_by_one() -> None:
    many = [
        trace("1", poa_global=800.0, temperature_module=45.0),
        trace("2", when=None, poa_global=900.0, poa_rear=80.0),
        trace("unknown", temperature_air=20.0),
    ]
    together = resolve_many(many, LAYOUT, [MEASURED, MEASURED, None])
    alone = [
        resolve_conditions(one, LAYOUT, points)
        for one, points in zip(many, [MEASURED, MEASURED, None], strict=True)
    ]
    assert together == alone


def test_a_voc_of_the_wrong_number_of_modules_gives_no_temperature() -> None:
    found = resolve_conditions(trace(poa_global=800.0), LAYOUT, replace(MEASURED, v_oc=1872.0))
    assert found.temperature_cell is None
    assert "no temperature was recorded" in found.temperature_from


@pytest.mark.parametrize(
    ("read", "hint"),
    [
        ({"poa_global": 0.85, "temperature_cell": 45.0}, "kW/m²?"),
        ({"poa_global": 850.0, "temperature_module": 323.0}, "kelvin?"),
        ({"poa_global": 850.0, "temperature_air": 20.0, "wind_speed": -3.0}, "wind_speed of -3"),
        ({"poa_global": -4.0, "temperature_cell": 45.0}, "poa_global of -4"),
    ],
)
def test_a_reading_that_cannot_be_is_set_aside_and_named(read: dict[str, float], hint: str) -> None:
    found = used(**read)
    assert len(found.set_aside) == 1
    assert hint in found.set_aside[0]
    assert hint in check(found, "missing values").detail
    assert found.poa_global in (None, 850.0)


def test_an_irradiance_set_aside_is_the_reason_for_none() -> None:
    found = used(poa_global=0.85, temperature_cell=45.0)
    assert found.poa_global is None
    assert found.irradiance_from.startswith("poa_global of 0.85 W/m²")


@pytest.mark.parametrize("value", [float("nan"), float("inf"), -float("inf")])
def test_a_number_that_is_none_is_as_if_not_recorded(value: float) -> None:
    found = used(
        poa_global=850.0, temperature_module=value, temperature_cell=45.0, wind_speed=value
    )
    assert found.temperature_cell == 45.0
    assert found.set_aside == ()

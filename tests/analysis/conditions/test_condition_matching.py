"""Logged readings at the times of traces, and the offset between the two clocks."""

from datetime import UTC, datetime, timedelta

import numpy as np
import pytest

from viewer.analysis.conditions.clock_offset import estimate_clock_offset
from viewer.analysis.conditions.condition_joining import ClockZoneError, JoinRules, join_conditions
from viewer.analysis.conditions.condition_matching import readings_at
from viewer.site_data.condition_log import ConditionLog
from viewer.site_data.iv_trace import MeasuredConditions, Trace

NOON = datetime(2024, 5, 17, 12, 0, 0)


def test_nearest_and_interpolated_by_hand():
    log, values = [0.0, 60.0, 120.0], [800.0, 830.0, 815.0]
    times = [-10.0, 0.0, 20.0, 40.0, 90.0, 125.0, 300.0]
    nearest = readings_at(times, log, values, 30.0, "nearest")
    np.testing.assert_array_equal(nearest.values, [800, 800, 800, 830, 830, 815, np.nan])
    np.testing.assert_array_equal(nearest.distance, [10, 0, 20, 20, 30, 5, 180])
    between = readings_at(times, log, values, 60.0)
    np.testing.assert_allclose(between.values, [np.nan, 800, 810, 820, 822.5, np.nan, np.nan])


def test_gaps_and_disorder_do_not_matter():
    found = readings_at([30.0], [60.0, 30.0, 0.0], [830.0, np.nan, 800.0], 60.0)
    np.testing.assert_allclose(found.values, [815.0])
    assert np.isnan(readings_at([30.0], [], [], 60.0).values).all()


def test_interpolation_does_not_bridge_a_gap_beyond_the_tolerance():
    assert np.isnan(readings_at([10.0], [0.0, 600.0], [800.0, 900.0], 60.0).values[0])


def irradiance(seconds):
    """An invented day with clouds [W/m²]."""
    s = np.asarray(seconds, dtype=float)
    return 600 + 150 * np.sin(s / 5000) + 80 * np.sin(s / 170) + 40 * np.sin(s / 61)


def invented_day(offset, seed, bad=0):
    rng = np.random.default_rng(seed)
    log = np.arange(0.0, 10_800.0, 10.0)
    times = np.sort(rng.uniform(600, 10_000, 40))
    current = irradiance(times + offset) * 0.009 * (1 + rng.normal(0, 0.005, times.size))
    current[:bad] *= 0.6
    return times, current, log, irradiance(log)


@pytest.mark.parametrize("offset", [-433.0, 0.0, 95.0])
@pytest.mark.parametrize("seed", [0, 1, 2])
def test_the_clock_offset_is_found_among_shaded_strings(offset, seed):
    found = estimate_clock_offset(*invented_day(offset, seed, bad=4))
    assert found.seconds == pytest.approx(offset, abs=3.0)
    assert found.low <= found.seconds <= found.high
    assert found.scatter_after <= found.scatter_before


def test_strings_of_different_size_need_their_groups():
    times, current, log, logged = invented_day(95.0, 0)
    groups = ["a", "b"] * 20
    current = current * np.where(np.array(groups) == "b", 1.3, 1.0)
    found = estimate_clock_offset(times, current, log, logged, groups=groups)
    assert found.seconds == pytest.approx(95.0, abs=3.0)


def test_a_steady_day_does_not_tell_the_offset():
    times, _, log, _ = invented_day(0.0, 0)
    noise = np.random.default_rng(5).normal(0, 0.005, times.size)
    found = estimate_clock_offset(times, 7.2 * (1 + noise), log, np.full(log.size, 800.0))
    assert found.seconds is None
    assert "moved too little" in found.reason


def test_too_few_traces_or_another_day_do_not_tell_it_either():
    times, current, log, logged = invented_day(0.0, 0)
    assert "too few" in estimate_clock_offset(times[:3], current[:3], log, logged).reason
    assert "overlap" in estimate_clock_offset(times + 1e6, current, log, logged).reason


def trace(source, moment, **conditions):
    points = np.arange(5.0)
    measured = MeasuredConditions(**conditions)
    return Trace(source, points, points, measured_at=moment, conditions=measured)


def log_of(zoned):
    start = NOON.replace(tzinfo=UTC).timestamp()
    return ConditionLog(
        "log.csv", start + np.array([0.0, 60.0]), zoned, {"poa_global": np.array([800.0, 830.0])}
    )


def test_joined_readings_carry_where_they_are_from():
    traces = [
        trace("a", NOON + timedelta(seconds=20)),
        trace("b", NOON + timedelta(seconds=20), poa_global=777.0),
        trace("c", NOON + timedelta(hours=2)),
        trace("d", None),
    ]
    joined = join_conditions(traces, log_of(zoned=False))
    found = [one.conditions.poa_global for one in joined.traces]
    assert found == [pytest.approx(810.0), 777.0, None, None]
    assert joined.unmatched == ("c", "d")
    assert joined.traces[0].remarks == (
        "From log.csv: irradiance 810 W/m² (interpolated, reading at most 40 s away).",
    )
    rules = JoinRules(replace_present=True, method="nearest", clock_offset=30.0)
    replaced = join_conditions(traces, log_of(zoned=False), rules).traces[1]
    assert replaced.conditions.poa_global == 830.0
    assert "clock offset +30 s" in replaced.remarks[0]


def test_a_missing_utc_offset_needs_the_zone():
    local = [trace("a", NOON + timedelta(hours=1, seconds=20))]  # Lisbon is UTC+1 in May
    with pytest.raises(ClockZoneError, match="times of the traces have no UTC offset"):
        join_conditions(local, log_of(zoned=True))
    rules = JoinRules(timezone="Europe/Lisbon")
    joined = join_conditions(local, log_of(zoned=True), rules)
    assert joined.traces[0].conditions.poa_global == pytest.approx(810.0)
    aware = [trace("a", (NOON + timedelta(hours=-1, seconds=20)).replace(tzinfo=UTC))]
    joined = join_conditions(aware, log_of(zoned=False), rules)
    assert joined.traces[0].conditions.poa_global == pytest.approx(810.0)

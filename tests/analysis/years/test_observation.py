"""Which results count when years are compared, and what is said of the others."""

from dataclasses import replace
from datetime import datetime

import pytest

from tests.analysis.made_results import made_result
from tests.analysis.years.test_trend import layout
from viewer.analysis.results.trace_result import TraceResult
from viewer.analysis.years.observation import NO_REAR, observe


def of(string: str, year: int, rear_unknown: bool) -> TraceResult:
    day = datetime(year, 6, 1, 12)
    made = made_result("CB0", string, measured_at=day, source=f"{year}/{string}.csv")
    return replace(made, conditions=replace(made.conditions, rear_unknown=rear_unknown))


def test_light_from_behind_that_was_not_recorded_is_no_change() -> None:
    """A reading of the rear on one visit and none on the other would look like a change."""
    site = layout(1, 2)
    mixed = [of("S0", 2020, False), of("S0", 2022, True), of("S1", 2022, True)]
    found = observe(mixed, site)
    assert [one.source for one in found.observations] == ["2020/S0.csv"]
    assert found.notes == (f"2 traces left out: {NO_REAR}.",)
    assert len(observe(mixed, site, all_conditions=True).observations) == 3


@pytest.mark.parametrize("rear_unknown", [True, False])
def test_traces_that_are_alike_in_it_are_compared(rear_unknown: bool) -> None:
    found = observe([of("S0", year, rear_unknown) for year in (2020, 2022)], layout(1, 2))
    assert [one.rear_unknown for one in found.observations] == [rear_unknown] * 2
    assert found.notes == ()

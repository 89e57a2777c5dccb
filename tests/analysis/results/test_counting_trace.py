"""Of several traces of a string one counts, and it counts once."""

from dataclasses import replace
from datetime import datetime

import pytest

from tests.analysis.made_results import made_result
from viewer.analysis.losses.lost_power import lost_at_standard
from viewer.analysis.losses.site_overview import site_overview, worst_strings
from viewer.analysis.results.counting_trace import counting_traces
from viewer.analysis.results.trace_result import Check, TraceResult
from viewer.reports.document.trace_blocks import missing_in


def traced(hour: int, ratio: float = 0.9, fit: bool = True, day: int = 5) -> TraceResult:
    """A trace of string S1; not `fit` where the sun was too low."""
    made = made_result(
        "CB",
        "S1",
        ratio,
        {"low_current": 400.0},
        measured_at=datetime(2026, 9, day, hour),
        source=f"{day}_{hour}.csv",
    )
    sun = Check("irradiance for power", fit, "as the sun stood")
    return replace(made, conditions=replace(made.conditions, checks=(sun,)))


def counting(*results: TraceResult) -> str:
    (one,) = counting_traces(results).values()
    return one.trace.source


def test_the_later_counts() -> None:
    assert counting(traced(12), traced(14)) == "5_14.csv"
    assert counting(traced(14), traced(12)) == "5_14.csv"


def test_a_sweep_in_the_evening_does_not_replace_that_in_good_sun() -> None:
    evening = traced(19, fit=False)
    assert counting(traced(12), evening) == "5_12.csv"
    assert counting(evening) == "5_19.csv"
    assert counting(traced(12), traced(12, fit=False, day=6)) == "6_12.csv"
    untranslated = replace(traced(15), translated=None)
    assert counting(traced(12), untranslated) == "5_12.csv"


def test_a_string_traced_twice_is_counted_once_everywhere() -> None:
    first, second = traced(12, 0.90), traced(14, 0.92)
    missing = missing_in([first, second])
    assert missing.strings == 1
    assert missing.lost == lost_at_standard(second)
    (worst,) = worst_strings([first, second], None, None)
    assert worst.cost.lost_at_stc == pytest.approx(missing.lost)
    grid = site_overview([second, first], None)
    assert grid.values.tolist() == [[0.92]]
    assert grid.results.tolist() == [[0]]

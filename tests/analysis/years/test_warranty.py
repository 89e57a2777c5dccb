"""Warranted power over age, decisions on it, and totals with their uncertainty."""

from dataclasses import replace
from datetime import date, datetime
from math import sqrt

import pytest

from tests.analysis.years.test_trend import SHEET, observation
from viewer.analysis.years.observation import Observation, Shares
from viewer.analysis.years.warranty import (
    ABOVE,
    BELOW,
    INCONCLUSIVE,
    check_warranty,
    warranted_share,
)
from viewer.site_data.site_layout import Combiner, SiteLayout, StringLayout
from viewer.site_data.warranty_terms import WarrantyTerms

LINEAR = WarrantyTerms(first_year=2.0, annual=0.5, years=25.0, start=date(2018, 6, 1))
STEPS = WarrantyTerms(steps=((10.0, 90.0), (25.0, 80.0)))
LAYOUT = SiteLayout(
    "Invented field",
    {"A": replace(SHEET, warranty=LINEAR)},
    (
        Combiner("CB0", tuple(StringLayout(f"S{n}", "A", 24) for n in range(8))),
        Combiner("CB1", (StringLayout("one module", "A", 1),)),
    ),
)
RATED = 9.0 * 37.5


@pytest.mark.parametrize(
    ("terms", "age", "share"),
    [
        (LINEAR, 0.0, 98.0),
        (LINEAR, 0.7, 98.0),
        (LINEAR, 1.0, 98.0),
        (LINEAR, 11.0, 93.0),
        (LINEAR, 25.0, 86.0),
        (LINEAR, 25.1, None),
        (LINEAR, -0.1, None),
        (STEPS, 0.0, 90.0),
        (STEPS, 10.0, 90.0),
        (STEPS, 10.1, 80.0),
        (STEPS, 25.0, 80.0),
        (STEPS, 26.0, None),
    ],
)
def test_warranted_share(terms: WarrantyTerms, age: float, share: float | None) -> None:
    assert warranted_share(terms, age) == share


def traced(number: int, power: float, own: float = 0.01, common: float = 0.01) -> Observation:
    one = observation(0, number, 1, 5.0, 9.5, 1090.0, 0.78)
    shares = Shares(own, common)
    return replace(
        one,
        measured_at=datetime(2023, 6, 1, 12),
        values=one.values | {"p_mp": power},
        uncertainty=one.uncertainty | {"p_mp": shares},
    )


WARRANTED = 24 * RATED * (98.0 - 0.5 * (1826 / 365.25 - 1)) / 100
"""1,826 days after the warranty's start."""


def test_without_its_rear_irradiance_a_bifacial_string_can_only_be_below() -> None:
    powers = [0.90, 0.98, 1.0, 1.05]
    lit = [replace(traced(n, p * WARRANTED), rear_unknown=True) for n, p in enumerate(powers)]
    found = check_warranty(lit, LAYOUT)
    assert [one.decision for one in found.checks] == [BELOW]
    assert len(found.unchecked) == 1
    assert found.unchecked[0].startswith("3 traces not checked: no rear irradiance")


def test_decisions_and_shortfall() -> None:
    powers = [0.90, 0.98, 1.0, 1.05]
    found = check_warranty([traced(n, p * WARRANTED) for n, p in enumerate(powers)], LAYOUT)
    assert [one.decision for one in found.checks] == [BELOW, INCONCLUSIVE, INCONCLUSIVE, ABOVE]
    first = found.checks[0]
    assert first.warranted == pytest.approx(WARRANTED)
    assert first.age == pytest.approx(1826 / 365.25)
    assert first.shortfall == pytest.approx(0.1 * WARRANTED)
    assert first.expanded == pytest.approx(2 * sqrt(2) * 0.01 * 0.9 * WARRANTED)
    assert found.checks[2].below_probability == pytest.approx(0.5)
    assert (found.modules_concerned, found.count(BELOW)) == (24, 1)
    assert found.shortfall == first.shortfall


def test_what_strings_share_adds_up_straight() -> None:
    own, common = 0.01, 0.012
    made = [traced(n, 0.85 * WARRANTED, own, common) for n in range(4)]
    found = check_warranty(made, LAYOUT)
    power = 0.85 * WARRANTED
    assert found.shortfall == pytest.approx(4 * 0.15 * WARRANTED)
    together = 2 * power * sqrt((4 * common) ** 2 + 4 * own**2)
    assert found.shortfall_expanded == pytest.approx(together)
    assert found.modules_concerned == 96


def test_single_modules_are_checked_by_serial() -> None:
    one = replace(traced(0, 300.0), combiner="CB1", string="one module", serial="SN1")
    other = replace(one, serial="SN2", values=one.values | {"p_mp": 330.0})
    found = check_warranty([one, other], LAYOUT)
    assert [(c.serial, c.modules, c.decision) for c in found.checks] == [
        ("SN1", 1, BELOW),
        ("SN2", 1, INCONCLUSIVE),
    ]
    assert found.modules_concerned == 1


def test_the_latest_visit_counts_and_there_the_cleaned_trace() -> None:
    old = replace(traced(0, 0.5 * WARRANTED), visit=0)
    dirty = replace(traced(0, 0.9 * WARRANTED), cleaned=False)
    clean = replace(traced(0, 1.05 * WARRANTED), cleaned=True)
    (check,) = check_warranty([old, clean, dirty], LAYOUT).checks
    assert check.decision == ABOVE


def test_rated_power_replaces_the_datasheets_product() -> None:
    terms = {"A": replace(LINEAR, rated_power=340.0)}
    (check,) = check_warranty([traced(0, 7000.0)], LAYOUT, terms).checks
    assert check.warranted == pytest.approx(WARRANTED * 340.0 / RATED)


def test_what_is_missing_is_said() -> None:
    bare = replace(LAYOUT, modules={"A": SHEET})
    made = [traced(n, 8000.0) for n in range(2)]
    found = check_warranty(made, bare)
    assert found.unchecked == ("2 traces not checked: no warranty terms for module A.",)
    found = check_warranty(made[:1], bare, {"A": STEPS})
    assert found.unchecked == ("1 trace not checked: no start of the warranty for module A.",)
    assert len(check_warranty(made, bare, {"A": STEPS}, date(2018, 6, 1)).checks) == 2
    late = check_warranty(made, bare, {"A": STEPS}, date(1990, 6, 1))
    early = replace(made[0], measured_at=datetime(2018, 5, 31, 12))
    before = check_warranty([early], LAYOUT)
    assert before.unchecked == (
        "1 trace not checked: measured before the warranty began on 2018-06-01.",
    )
    assert late.unchecked[0].endswith("at an age of 33.0 years, outside the warranty's 25.")


def test_a_trace_that_is_known_worse_than_usual_is_judged_by_its_own_uncertainty() -> None:
    usual = traced(0, 0.95 * WARRANTED)
    moved_far = replace(usual, power_uncertainty=0.03)
    assert check_warranty([usual], LAYOUT).checks[0].decision == BELOW
    (found,) = check_warranty([moved_far], LAYOUT).checks
    assert found.decision == INCONCLUSIVE
    assert found.expanded == pytest.approx(2 * 0.03 * 0.95 * WARRANTED)
    assert found.source == moved_far.source


def test_what_a_trace_is_less_certain_than_usual_does_not_average_out() -> None:
    powers = (0.8 * WARRANTED, 0.8 * WARRANTED)
    two = [replace(traced(n, p), power_uncertainty=0.03) for n, p in enumerate(powers)]
    found = check_warranty(two, LAYOUT)
    common, own = 2 * sqrt(0.03**2 - 0.01**2), sqrt(2) * 0.01
    expected = 2 * sqrt(common**2 + own**2) * 0.8 * WARRANTED
    assert found.shortfall_expanded == pytest.approx(expected)

"""Cochran's sample sizes: so many strings give the interval that the plan of a sample promises."""

from math import sqrt

import pytest
from scipy.stats import norm, t

from viewer.analysis.years.observation import Shares
from viewer.analysis.years.sample_power import detectable

TWICE = 2 * norm.cdf(2.0) - 1
"""The confidence whose factor is 2, as the book's example uses."""
EXACT = Shares(0.0, 0.0)


def half_width(strings: int, population: int, deviation: float, confidence: float = 0.95) -> float:
    """Of exact values that differ between strings, by the normal factor that the book uses."""
    made = detectable(strings, population, 1.0, EXACT, between=deviation, confidence=confidence)
    tail = 0.5 + confidence / 2
    return made.half_width * norm.ppf(tail) / t.ppf(tail, strings - 1)


@pytest.mark.parametrize(("people", "population"), [(400, 10**9), (356, 3200)])
def test_blood_group_on_an_island(people: int, population: int) -> None:
    """W. G. Cochran, Sampling Techniques, 3rd edition, chapter 4 (from memory): a percentage
    near 50 % to be known within 5 % needs 400 people, on an island of 3,200 only 356."""
    half = sqrt(0.5 * 0.5)
    assert half_width(people, population, half, TWICE) <= 0.05 + 1e-12
    assert half_width(people - 1, population, half, TWICE) > 0.05


@pytest.mark.parametrize(("needed", "population"), [(385, 10**9), (278, 1000)])
def test_the_385_of_every_table(needed: int, population: int) -> None:
    """n0 = 1.96² · 0.25 / 0.05² = 384.16, printed as 385 in tables of Cochran's formula (common
    practice); 278 for a population of 1,000."""
    assert half_width(needed, population, 0.5) <= 0.05
    assert half_width(needed - 1, population, 0.5) > 0.05


def test_with_every_string_nothing_is_left_to_chance() -> None:
    assert half_width(50, 50, 0.5) == 0.0

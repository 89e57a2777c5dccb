"""Cochran's sample sizes."""

from math import sqrt

from scipy.stats import norm

from viewer.analysis.sample_power import strings_needed

TWICE = 2 * norm.cdf(2.0) - 1
"""The confidence whose factor is 2, as the book's example uses."""


def test_blood_group_on_an_island() -> None:
    """W. G. Cochran, Sampling Techniques, 3rd edition, chapter 4 (from memory): a percentage
    near 50 % to be known within 5 % needs 400 people, on an island of 3,200 only 356."""
    half = sqrt(0.5 * 0.5)
    assert strings_needed(0.05, half, 10**9, TWICE) == 400
    assert strings_needed(0.05, half, 3200, TWICE) == 356


def test_the_385_of_every_table() -> None:
    """n0 = 1.96² · 0.25 / 0.05² = 384.16, printed as 385 in tables of Cochran's formula (common
    practice); 278 for a population of 1,000."""
    assert strings_needed(0.05, 0.5, 10**9) == 385
    assert strings_needed(0.05, 0.5, 1000) == 278


def test_never_more_than_there_are() -> None:
    assert strings_needed(0.001, 0.5, 50) == 50

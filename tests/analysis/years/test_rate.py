"""How a rate is printed: with the digits that its interval allows."""

import pytest

from viewer.analysis.years.rate import Rate, verdict
from viewer.physics.uncertainty.uncertainty import decimals_by


@pytest.mark.parametrize(
    ("expanded", "decimals"),
    [(35.0, 0), (340.0, 0), (3.5, 1), (0.99, 2), (0.996, 1), (0.46, 2), (0.051, 3), (0.0004, 5)],
)
def test_an_uncertainty_has_two_digits(expanded, decimals):
    assert decimals_by(expanded) == decimals


@pytest.mark.parametrize(
    ("rate", "text"),
    [
        (Rate(-0.744, -4.244, 2.756), "-0.7 (-4.2 to +2.8) %/year"),
        (Rate(-0.744, -1.204, -0.284), "-0.74 (-1.20 to -0.28) %/year"),
        (Rate(-12.31, -40.2, 15.58), "-12 (-40 to +16) %/year"),
        (Rate(-0.7444, -0.7484, -0.7404), "-0.74 (-0.75 to -0.74) %/year"),
        (Rate(-0.5, -0.5, -0.5), "-0.50 (-0.50 to -0.50) %/year"),
        (Rate(-0.5, float("nan"), float("nan")), "– %/year"),
    ],
)
def test_a_rate_has_the_digits_of_its_interval(rate, text):
    assert rate.text() == text


def test_sentences_print_the_same_digits():
    assert verdict(Rate(-5.123, -8.6, -1.646), 4.0)[0] == (
        "Power is falling: -5.1 %/year, between -8.6 and -1.6 %/year (95 %)."
    )
    assert verdict(Rate(-0.7, -4.2, 2.8), 4.0)[0] == (
        "No change of power can be shown: the rate lies between -4.2 and +2.8 %/year (95 %)."
    )

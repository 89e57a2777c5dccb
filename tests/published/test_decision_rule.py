"""Decisions against limits as published guides state them."""

import pytest
from scipy.stats import norm

from viewer.analysis.years.warranty import ABOVE, BELOW, INCONCLUSIVE, below_probability, decide


def test_jcgm_106_zener_diode() -> None:
    """JCGM 106:2012, 7.2 example (from memory): breakdown voltage -5.47 V with u = 0.05 V against
    the upper limit -5.40 V conforms with probability Phi(1.40) = 0.92."""
    assert below_probability(-5.47, 0.05, -5.40) == pytest.approx(0.92, abs=0.001)


@pytest.mark.parametrize(
    ("distance", "said"),
    [(-2.01, BELOW), (-1.99, INCONCLUSIVE), (0.0, INCONCLUSIVE), (2.01, ABOVE)],
)
def test_a_guard_band_of_the_expanded_uncertainty(distance: float, said: str) -> None:
    """ILAC-G8:09/2019 with w = U, k = 2; `distance` in standard uncertainties."""
    assert decide(100 + distance * 1.5, 2 * 1.5, 100.0) == said


def test_the_risk_ilac_g8_names_for_a_guard_band_of_u() -> None:
    """ILAC-G8:09/2019, table 1 (from memory): with w = U the risk of a wrong decision is below
    2.5 % of each one made."""
    at_the_edge = 1 - below_probability(100 - 2.0, 1.0, 100.0)
    assert at_the_edge == pytest.approx(norm.sf(2.0))
    assert at_the_edge < 0.025

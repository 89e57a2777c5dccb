"""The random-effects mean against the BCG vaccine trials, a worked example of textbooks."""

import numpy as np
import pytest

from viewer.analysis.years.random_effects import population_mean, stratified_mean

# 13 trials of BCG vaccination (cases and others among the vaccinated, then among the rest):
# G. A. Colditz and others, JAMA 271 (1994) 698-702, from memory. Published DerSimonian-Laird
# results for the logarithm of the risk ratio: mean -0.7141, standard error 0.1787, variance
# between trials 0.3088 (documentation of the R package metafor, from memory).
TRIALS = np.array(
    [
        (4, 119, 11, 128),
        (6, 300, 29, 274),
        (3, 228, 11, 209),
        (62, 13536, 248, 12619),
        (33, 5036, 47, 5761),
        (180, 1361, 372, 1079),
        (8, 2537, 10, 619),
        (505, 87886, 499, 87892),
        (29, 7470, 45, 7232),
        (17, 1699, 65, 1600),
        (186, 50448, 141, 27197),
        (5, 2493, 3, 2338),
        (27, 16886, 29, 17825),
    ],
    dtype=float,
)


def test_bcg_trials() -> None:
    a, b, c, d = TRIALS.T
    log_ratio = np.log(a / (a + b)) - np.log(c / (c + d))
    u = np.sqrt(1 / a - 1 / (a + b) + 1 / c - 1 / (c + d))
    found = population_mean(log_ratio, u)
    assert found.mean == pytest.approx(-0.7141, abs=5e-5)
    assert found.uncertainty == pytest.approx(0.1787, abs=5e-5)
    assert found.between**2 == pytest.approx(0.3088, abs=5e-5)


def test_equal_values_give_cochrans_two_stage_variance() -> None:
    # (1 - f) s1^2 / n + f u^2 / n, Cochran, Sampling Techniques, chapter 10 (from memory).
    random = np.random.default_rng(3)
    n, population, u = 12, 40, 0.3
    values = random.normal(-0.7, 1.0, n)
    found = population_mean(values, np.full(n, u), population)
    f, s1 = n / population, np.std(values, ddof=1)
    assert found.mean == pytest.approx(values.mean())
    assert found.uncertainty**2 == pytest.approx((1 - f) * s1**2 / n + f * u**2 / n)


def test_a_census_leaves_only_the_measurements() -> None:
    values = np.array([-0.2, -1.4, 0.3, -2.2])
    found = population_mean(values, np.full(4, 0.1), 4)
    assert found.uncertainty == pytest.approx(0.1 / 2)
    assert found.between > 0.5


def test_strata_weigh_as_they_have_members() -> None:
    """A stratum traced whole and one of which a tenth was: by hand, and as one when even."""
    values = np.array([-2.0, -2.2, -1.8, -2.0, -0.5, -0.7])
    u, of = np.full(6, 0.1), [0, 0, 0, 0, 1, 1]
    found = stratified_mean(values, u, of, [4, 20], 24)
    assert found.mean == pytest.approx((4 * -2.0 + 20 * -0.6) / 24)
    assert found.weights.sum() == pytest.approx(1.0)
    inside = (4 / 24) ** 2 * 0.01 / 4 + (20 / 24) ** 2 * (0.01 + 0.9 * found.between**2) / 2
    assert found.uncertainty**2 == pytest.approx(inside)
    even = stratified_mean(values[:4], u[:4], [0, 0, 1, 1], [20, 20], 60)
    whole = population_mean(values[:4], u[:4], 60)
    assert even.mean == pytest.approx(whole.mean)
    assert even.uncertainty == pytest.approx(whole.uncertainty)

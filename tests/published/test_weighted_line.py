"""Lines against certified values, numpy and scipy."""

import numpy as np
import pytest
from scipy.stats import linregress, theilslopes

from viewer.analysis.years.weighted_line import fit_lines, median_interval, robust_slope

# NIST Statistical Reference Datasets, linear regression, data set Norris (J. Norris, calibration
# of ozone monitors): https://www.itl.nist.gov/div898/strd/lls/data/Norris.shtml
NORRIS_Y = """0.1 338.8 118.1 888.0 9.2 228.1 668.5 998.5 449.1 778.9 559.2 0.3 0.1 778.1 668.8
339.3 448.9 10.8 557.7 228.3 998.0 888.8 119.6 0.3 0.6 557.6 339.3 888.0 998.5 778.9 10.2 117.6
228.9 668.4 449.2 0.2"""
NORRIS_X = """0.2 337.4 118.2 884.6 10.1 226.5 666.3 996.3 448.6 777.0 558.2 0.4 0.6 775.5 666.9
338.0 447.5 11.6 556.0 228.1 995.8 887.6 120.2 0.3 0.3 556.8 339.1 887.2 999.0 779.0 11.1 118.3
229.2 669.1 448.9 0.5"""
CERTIFIED_INTERCEPT, CERTIFIED_INTERCEPT_SD = -0.262323073774029, 0.232818234301152
CERTIFIED_SLOPE, CERTIFIED_SLOPE_SD = 1.00211681802045, 0.429796848199937e-03
CERTIFIED_RESIDUAL_SD = 0.884796396144373


def numbers(text: str) -> np.ndarray:
    return np.array([float(word) for word in text.split()])


def test_norris_certified_values() -> None:
    x, y = numbers(NORRIS_X), numbers(NORRIS_Y)
    fit = fit_lines(np.zeros(36, dtype=int), x, y, 1.0)
    assert fit.intercept[0] == pytest.approx(CERTIFIED_INTERCEPT, rel=1e-12)
    assert fit.slope[0] == pytest.approx(CERTIFIED_SLOPE, rel=1e-14)
    assert fit.excess[0] == pytest.approx(CERTIFIED_RESIDUAL_SD, rel=1e-12)
    assert fit.u_slope[0] * fit.excess[0] == pytest.approx(CERTIFIED_SLOPE_SD, rel=1e-12)
    assert fit.u_intercept[0] * fit.excess[0] == pytest.approx(CERTIFIED_INTERCEPT_SD, rel=1e-12)


def test_weighted_lines_of_many_groups_against_numpy_polyfit() -> None:
    random = np.random.default_rng(5)
    sizes = random.integers(3, 9, 40)
    group = np.repeat(np.arange(40), sizes)
    x = random.uniform(0, 12, group.size)
    u = random.uniform(0.5, 3.0, group.size)
    y = 100 - 0.6 * x + random.normal(0, u)
    fit = fit_lines(group, x, y, u)
    for number in range(40):
        own = group == number
        found, covariance = np.polyfit(x[own], y[own], 1, w=1 / u[own], cov="unscaled")
        assert fit.slope[number] == pytest.approx(found[0], rel=1e-9)
        assert fit.intercept[number] == pytest.approx(found[1], rel=1e-11)
        assert fit.u_slope[number] == pytest.approx(np.sqrt(covariance[0, 0]), rel=1e-9)
        assert fit.u_intercept[number] == pytest.approx(np.sqrt(covariance[1, 1]), rel=1e-9)
        assert fit.covariance[number] == pytest.approx(covariance[0, 1], rel=1e-9)


def test_equal_weights_against_scipy_linregress() -> None:
    random = np.random.default_rng(6)
    x = np.array([2018.5, 2019.5, 2020.4, 2021.6, 2022.5])
    y = 0.99 - 0.005 * (x - 2018) + random.normal(0, 0.002, 5)
    fit, peer = fit_lines(np.zeros(5, dtype=int), x, y, 0.01), linregress(x, y)
    assert fit.slope[0] == pytest.approx(peer.slope, rel=1e-10)
    assert fit.u_slope[0] * fit.excess[0] == pytest.approx(peer.stderr, rel=1e-9)


def test_theil_sen_is_scipys_and_shrugs_off_one_wild_point() -> None:
    x = np.arange(8.0)
    y = 100 - 0.5 * x
    y[3] = 60
    peer = theilslopes(y, x, alpha=0.95)
    found = robust_slope(x, y)
    assert (found.slope, found.low, found.high) == (peer.slope, peer.low_slope, peer.high_slope)
    assert found.slope == pytest.approx(-0.5)
    assert abs(fit_lines(np.zeros(8, dtype=int), x, y, 1.0).slope[0] + 0.5) > 0.3


def test_groups_without_a_line_are_nan() -> None:
    fit = fit_lines([0, 1, 1, 2, 2], [1, 3, 3, 0, 2], [5, 6, 7, 1, 2], 1.0)
    assert np.isnan(fit.slope[:2]).all()
    assert fit.slope[2] == 0.5
    assert np.isnan(fit.excess).all()
    assert (fit.widening == 1.0).all()
    assert robust_slope([1, 2], [3, 4]) is None


def test_too_few_points_have_no_rank_interval() -> None:
    found = robust_slope([0, 1, 2, 3], [4, 3, 2, 0])
    assert found.slope == pytest.approx(-7 / 6)
    assert np.isnan([found.low, found.high]).all()
    assert np.isnan(median_interval([1.0, 2.0, 3.0, 4.0, 5.0])[1:]).all()


def test_ranks_of_the_median_are_those_of_published_tables() -> None:
    """Values 2 to 9 of ten bound the median with 97.9 %, 6 to 15 of twenty with 95.9 %: tables of
    the sign test (common practice, from memory); nearer ranks would fall below 95 %."""
    assert median_interval(np.arange(1.0, 11.0)) == (5.5, 2.0, 9.0)
    assert median_interval(np.arange(1.0, 21.0)) == (10.5, 6.0, 15.0)

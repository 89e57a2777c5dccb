"""Straight lines through uncertain points, many at once."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

Array = NDArray[np.float64]

COVERAGE_95 = 1.959963984540054
"""Quantile of the normal distribution for a two-sided interval of 95 %."""

FEWEST_FOR_INTERVAL = 5
"""Points with which a rank interval of 95 % exists."""


@dataclass(frozen=True, eq=False)
class LineFits:
    """One line a group: y = intercept + slope x. Arrays of shape (groups,).

    NaN where a group has fewer than two different x. The standard uncertainties come from the
    stated ones of the points alone; `excess` is the root of chi-squared over degrees of freedom
    (Birge ratio), NaN with two points: above 1 the points scatter more than stated.
    """

    intercept: Array
    slope: Array
    u_intercept: Array
    u_slope: Array
    covariance: Array
    excess: Array
    count: NDArray[np.int64]
    slope_share: Array
    """How much of each point's y goes into its group's slope, shape (n,)."""
    intercept_share: Array

    @property
    def widening(self) -> Array:
        """What the uncertainties are multiplied with: the excess where it is above 1."""
        return np.fmax(np.nan_to_num(self.excess, nan=1.0), 1.0)


def fit_lines(group: ArrayLike, x: ArrayLike, y: ArrayLike, u: ArrayLike) -> LineFits:
    """Weighted least squares lines, one for each group 0..max.

    group: shape (n,), the group of each point; x, y: shape (n,); u: standard uncertainty of y,
    scalar or shape (n,), above 0. Closed formulas of e.g. P. R. Bevington and D. K. Robinson,
    Data Reduction and Error Analysis for the Physical Sciences, chapter 6, taken about the
    weighted mean of x so that nothing cancels.
    """
    index = np.asarray(group, dtype=np.intp)
    x, y = np.asarray(x, dtype=float), np.asarray(y, dtype=float)
    weight = 1.0 / np.square(np.broadcast_to(np.asarray(u, dtype=float), y.shape))
    groups = int(index.max()) + 1 if index.size else 0

    def total(values: Array) -> Array:
        return np.bincount(index, weights=values, minlength=groups).astype(float)

    count = np.bincount(index, minlength=groups)
    with np.errstate(divide="ignore", invalid="ignore"):
        weights = total(weight)
        mean_x, mean_y = total(weight * x) / weights, total(weight * y) / weights
        dx = x - mean_x[index]
        spread = total(weight * dx**2)
        spread = np.where(spread > 0.0, spread, np.nan)
        slope = total(weight * dx * (y - mean_y[index])) / spread
        intercept = mean_y - slope * mean_x
        rest = y - mean_y[index] - slope[index] * dx
        free = np.where(count > 2, count - 2.0, np.nan)
        excess = np.sqrt(total(weight * rest**2) / free)
    slope_share = weight * dx / spread[index]
    return LineFits(
        intercept=intercept,
        slope=slope,
        u_intercept=np.sqrt(1.0 / weights + mean_x**2 / spread),
        u_slope=1.0 / np.sqrt(spread),
        covariance=-mean_x / spread,
        excess=excess,
        count=count,
        slope_share=slope_share,
        intercept_share=weight / weights[index] - mean_x[index] * slope_share,
    )


@dataclass(frozen=True)
class RobustSlope:
    """Median of the slopes between all pairs of points, with the 95 % interval of Sen (1968).

    The interval is NaN with fewer than five points, which allow none: the most extreme order of
    four points comes about by chance with a probability of 2 / 4! = 8 %.
    """

    slope: float
    low: float
    high: float


def robust_slope(x: ArrayLike, y: ArrayLike) -> RobustSlope | None:
    """Theil-Sen slope of at least three points with different x, else None.

    H. Theil 1950; P. K. Sen, J. American Statistical Association 63 (1968) 1379-1389, as
    scipy.stats.theilslopes computes it.
    """
    from scipy.stats import theilslopes  # not above: it is slow to load

    x, y = np.asarray(x, dtype=float), np.asarray(y, dtype=float)
    if x.size < 3 or np.unique(x).size < 2:
        return None
    found = theilslopes(y, x, alpha=0.95)
    if x.size < FEWEST_FOR_INTERVAL:
        return RobustSlope(float(found.slope), np.nan, np.nan)
    return RobustSlope(float(found.slope), float(found.low_slope), float(found.high_slope))


def median_interval(values: ArrayLike) -> tuple[float, float, float]:
    """Median and the bounds of its 95 % interval between two of the values in order.

    Free of any distribution: W. J. Conover, Practical Nonparametric Statistics, quantile test,
    as scipy.stats.quantile_test computes it. The bounds are NaN with fewer than six values.
    """
    from scipy.stats import quantile_test  # not above: it is slow to load

    values = np.asarray(values, dtype=float)
    middle = float(np.median(values))
    if values.size < 6:
        return middle, np.nan, np.nan
    bounds = quantile_test(values, q=middle, p=0.5).confidence_interval(0.95)
    return middle, float(bounds.low), float(bounds.high)

"""The mean of a finite population from a sample of uncertain values that differ in truth."""

from collections.abc import Sequence
from dataclasses import dataclass
from math import inf, sqrt

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.special import stdtrit

Array = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class PopulationMean:
    """`mean` with its standard uncertainty from sampling and from each value's own.

    between: standard deviation of the true values (0 when the values do not show any);
    weights: of the values in the mean, adding up to 1; coverage: factor for a 95 % interval.
    """

    mean: float
    uncertainty: float
    between: float
    weights: Array
    coverage: float


def population_mean(
    values: ArrayLike, u: ArrayLike, population: int | None = None
) -> PopulationMean:
    """The random-effects mean of at least two values with standard uncertainties `u`.

    The variance between values is that of R. DerSimonian and N. Laird, Controlled Clinical
    Trials 7 (1986) 177-188. With `population` given, only the share of it that was not sampled
    adds sampling variance, while the values' own uncertainty is never reduced: this is the
    two-stage variance of W. G. Cochran, Sampling Techniques, 3rd edition, chapter 10, with the
    second stage drawn from an infinite population (from memory). The coverage factor is
    Student's with n - 1 degrees of freedom, as the variance between few values is hardly known.
    """
    r = np.asarray(values, dtype=float)
    whole = inf if population is None else population
    return stratified_mean(r, u, np.zeros(r.size, dtype=np.intp), [r.size], whole)


def stratified_mean(
    values: ArrayLike, u: ArrayLike, stratum: ArrayLike, sizes: Sequence[int], population: float
) -> PopulationMean:
    """The same from strata that were sampled more and less densely.

    stratum: number of each value's stratum; sizes: how many members each of these strata has;
    population: members of all strata, of unsampled ones, too. Each stratum weighs as it has
    members (post-stratification, Cochran, chapter 5A.9, from memory), inside it by the
    random-effects weights. What lies between values is that of all together: more than that
    inside the strata, so that the interval is never too narrow for it.
    """
    r, var = np.asarray(values, dtype=float), np.square(np.asarray(u, dtype=float))
    of = np.asarray(stratum, dtype=np.intp)
    size = np.asarray(sizes, dtype=float)
    between = _variance_between(r, var)
    weights = 1.0 / (var + between)
    weights *= (size / size.sum() / np.bincount(of, weights, size.size))[of]
    sampled = np.bincount(of, minlength=size.size) / size * size.sum() / population
    left = np.maximum(0.0, 1.0 - sampled)[of]
    variance = float(np.sum(weights**2 * (var + left * between)))
    return PopulationMean(
        mean=float(np.sum(weights * r)),
        uncertainty=sqrt(variance),
        between=sqrt(between),
        weights=weights,
        coverage=float(stdtrit(r.size - 1, 0.975)),
    )


def _variance_between(r: Array, var: Array) -> float:
    w = 1.0 / var
    mean = np.sum(w * r) / w.sum()
    q = np.sum(w * (r - mean) ** 2)
    scale = w.sum() - np.sum(w**2) / w.sum()
    return max(0.0, float((q - (r.size - 1)) / scale))

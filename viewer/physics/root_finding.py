"""One safeguarded Newton iteration for many roots at once.

Every equation here has one root in a known bracket and falls from positive to negative
across it. Newton's step is taken where it stays inside the bracket, halving where it does not,
so that the iteration can be slow but cannot get lost (W. H. Press and others, Numerical
Recipes, section 9.4).
"""

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray
from scipy.special import wrightomega

Array = NDArray[np.float64]

MOST_ITERATIONS = 100
TOLERANCE = 4 * np.finfo(float).eps


def falling_root(
    value_and_slope: Callable[[Array], tuple[Array, Array]],
    low: Array,
    high: Array,
    start: Array,
    tolerance: float = TOLERANCE,
) -> Array:
    """Where a falling function crosses zero between `low` and `high`, element by element.

    `value_and_slope(x)` gives the function and its derivative. NaN anywhere gives NaN there;
    without a change of sign the end of the bracket on that side is returned. `tolerance` is
    the step, relative to the bracket's larger end, below which an element is done.
    """
    low, high, x = (np.array(a, dtype=float) for a in np.broadcast_arrays(low, high, start))
    scale = np.maximum(np.abs(low), np.abs(high))
    with np.errstate(invalid="ignore", divide="ignore", over="ignore"):
        for _ in range(MOST_ITERATIONS):
            value, slope = value_and_slope(x)
            low = np.where(value >= 0, x, low)
            high = np.where(value <= 0, x, high)
            newton = x - value / slope
            inside = (newton >= low) & (newton <= high)
            following = np.where(inside, newton, 0.5 * (low + high))
            following = np.where(np.isnan(value), np.nan, following)
            moved = np.abs(following - x)
            x = following
            if not np.any(moved > tolerance * scale):
                break
    return x


def linear_plus_exponential_root(target: Array, log_factor: Array) -> Array:
    """y with y + exp(y + log_factor) = target, for any target; log_factor may be -inf.

    With w = target - y the equation is w + ln w = target + log_factor, whose solution is
    Wright's omega function (R. M. Corless and D. J. Jeffrey, The Wright omega function, 2002,
    doi 10.1007/3-540-45470-5_10). y is taken from whichever of the two forms loses no digits,
    then mended by one Newton step.
    """
    target, log_factor = np.broadcast_arrays(target, log_factor)
    w = wrightomega(target + log_factor)
    with np.errstate(divide="ignore", invalid="ignore"):
        y = np.where(w > 1.0, np.log(w) - log_factor, target - w)
        exponential = np.exp(y + log_factor)
        step = (y + exponential - target) / (1.0 + exponential)
    return np.where(np.isfinite(step), y - step, y)

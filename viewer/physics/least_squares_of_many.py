"""Small least-squares problems, one for each of many devices, solved side by side.

Where the data leave several answers the one of least length is taken, as `numpy.linalg.lstsq`
does for one problem (G. H. Golub and C. F. Van Loan, Matrix Computations, section 5.5).
"""

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

MOST_STEPS = 50
MOST_HALVINGS = 30
TOLERANCE = 1e-9
"""A step below this, in the unknowns' own scale, is the last; each is many times smaller than
the one before it."""

ROUNDING = 1e-12
"""A sum of squares that grows by less than this share has not grown."""


def linear_answer(columns: Array, wanted: Array) -> Array:
    """x of least length with the least |columns x - wanted|.

    Shapes: columns (..., equations, unknowns), wanted (..., equations); returns (..., unknowns).
    Raises numpy's LinAlgError where a number is NaN.
    """
    left, sizes, right = np.linalg.svd(columns, full_matrices=False)
    least = np.finfo(float).eps * max(columns.shape[-2:]) * sizes[..., :1]
    along = np.matmul(wanted[..., None, :], left)[..., 0, :]
    along = np.divide(along, sizes, out=np.zeros_like(along), where=sizes > least)
    return np.matmul(along[..., None, :], right)[..., 0, :]


def curved_answer(misses_and_slopes: Callable[[Array], tuple[Array, Array]], start: Array) -> Array:
    """x with the least sum of squared misses, by Gauss and Newton's steps from `start`.

    A step that makes the sum grow is halved until it does not. `misses_and_slopes(x)` gives
    (..., equations) and their slopes (..., equations, unknowns); `start` (..., unknowns), scaled
    so that a change of 1 is a large one.
    """
    x = np.array(start, dtype=float)
    misses, slopes = misses_and_slopes(x)
    for _ in range(MOST_STEPS):
        step = linear_answer(slopes, -misses)
        if not np.any(np.abs(step) > TOLERANCE):
            return x + step
        most = _squares(misses) * (1.0 + ROUNDING)
        for _ in range(MOST_HALVINGS):
            misses, slopes = misses_and_slopes(x + step)
            worse = ~(_squares(misses) <= most)
            if not worse.any():
                break
            step[worse] *= 0.5
        x += step
    return x


def _squares(misses: Array) -> Array:
    return np.einsum("...n,...n->...", misses, misses)

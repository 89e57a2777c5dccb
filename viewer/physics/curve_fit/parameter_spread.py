"""Covariance of fitted unknowns and of the five parameters they stand for."""

import numpy as np
from numpy.typing import NDArray
from scipy.special import stdtrit

from viewer.physics.curve_fit.least_squares import symmetric_inverse
from viewer.physics.curve_fit.noise import UNKNOWNS
from viewer.physics.curve_fit.scaled_diode import G, parameter_derivatives, sensitivities
from viewer.physics.curve_fit.whole_sweep import FittedSweeps

Array = NDArray[np.float64]

ENOUGH_SWEEPS = 10
"""From this many on, the scatter between sweeps is told well enough to be used."""


def student_factor(count: NDArray[np.int64]) -> Array:
    """By how much few points widen an uncertainty so that 1.96 of it hold 95 %."""
    freedom = np.maximum(count - UNKNOWNS, 1)
    return np.asarray(stdtrit(freedom, 0.975) / 1.959964, dtype=float)


def independent(result: FittedSweeps) -> Array:
    """Covariance of the unknowns (sweeps, 5, 5) from the scatter of the points.

    Where neighbouring deviations are alike, the points are worth fewer.
    """
    variance = result.noise.misfit**2 * result.noise.repetition
    return result.fitted.inverse * variance[:, None, None]


def clustered(result: FittedSweeps, member: NDArray[np.int64]) -> Array:
    """The same for one fit to several sweeps; `member` tells each point's sweep.

    What the points of one sweep have in common counts once (K.-Y. Liang and S. L. Zeger,
    Biometrika 73 (1986) 13-22). With few sweeps the larger of the two estimates is used.
    """
    plain = independent(result)
    used = result.batch.used[0]
    sweeps = int(member.max()) + 1
    if sweeps < 2:
        return plain
    fitted = result.fitted
    slopes = sensitivities(fitted.unknowns, fitted.state)[0]
    pull = np.where(used, fitted.deviation[0] / fitted.spread[0] ** 2, 0.0)
    sums = np.stack([np.bincount(member, row * pull, minlength=sweeps) for row in slopes])
    middle = sums @ sums.T * (sweeps / (sweeps - 1.0))
    between = fitted.inverse[0] @ middle @ fitted.inverse[0]
    if sweeps < ENOUGH_SWEEPS and np.trace(between) < np.trace(plain[0]):
        return plain
    return between[None]


def every_unknown(result: FittedSweeps) -> Array:
    """Covariance of the unknowns if none were held at a bound, (sweeps, 5, 5)."""
    fitted = result.fitted
    weight = result.batch.used / fitted.spread
    scaled = sensitivities(fitted.unknowns, fitted.state) * weight[:, None, :]
    variance = result.noise.misfit**2 * result.noise.repetition
    return symmetric_inverse(scaled @ scaled.swapaxes(1, 2)) * variance[:, None, None]


def parameter_covariance(result: FittedSweeps, spread: Array) -> Array:
    """Covariance of the five parameters in A, ohm and V, (sweeps, 5, 5), from that of the
    unknowns; NaN in the row and column of an infinite shunt resistance."""
    slopes = parameter_derivatives(result.fitted.unknowns, result.batch)
    leaking = np.isfinite(slopes[:, 3, G])
    slopes[~leaking, 3] = 0.0
    covariance = slopes @ spread @ slopes.swapaxes(1, 2)
    covariance[~leaking, 3, :] = np.nan
    covariance[~leaking, :, 3] = np.nan
    return covariance

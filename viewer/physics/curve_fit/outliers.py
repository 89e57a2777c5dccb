"""Single points that neither the fitted curve nor their neighbours allow."""

import numpy as np
from numpy.typing import NDArray

from viewer.physics.curve_fit.least_squares import LeastSquares
from viewer.physics.curve_fit.noise import UNKNOWNS, Noise
from viewer.physics.curve_fit.sweep_batch import SweepBatch

Array = NDArray[np.float64]
Mask = NDArray[np.bool_]

LIMIT = 7.0
"""In standard deviations; one in 10^11 points of normal noise lies beyond."""
LEAST = 5e-4
"""Of Isc; nothing is gained by leaving out a smaller deviation."""


def outliers(batch: SweepBatch, fitted: LeastSquares, noise: Noise) -> Mask:
    """The outliers of each sweep, (sweeps, points).

    A point is one when it lies far beyond the noise from the fitted curve, equally far from
    each of its two neighbours on either side (at a step, one side agrees), and where no falling
    concave curve through the neighbours could pass (at a coarsely measured knee, one can).
    """
    state = fitted.state
    scale = np.hypot(
        noise.current[:, None] * state.stretch, noise.voltage[:, None] * state.conductance
    )
    z = np.where(batch.used, fitted.deviation / scale, np.nan)
    size = np.abs(z)
    limit = LIMIT * np.maximum(_median(size, batch), 1.0)
    with np.errstate(invalid="ignore"):
        suspect = (size > limit) & (np.abs(fitted.deviation) > LEAST * state.stretch)
    rows = np.flatnonzero(suspect.any(axis=1) & (batch.count > UNKNOWNS + 4))
    out = np.zeros(suspect.shape, dtype=bool)
    if rows.size:
        voltage = np.where(batch.used, batch.voltage, np.nan)[rows]
        current = np.where(batch.used, batch.current, np.nan)[rows]
        noise_here = (scale / state.stretch)[rows]
        alone = _alone(z[rows], limit[rows])
        out[rows] = suspect[rows] & alone & _impossible(voltage, current, LIMIT * noise_here)
    return out


def _median(size: Array, batch: SweepBatch) -> Array:
    ordered = np.sort(size, axis=1)  # NaN goes last
    middle = np.maximum(batch.count - 1, 0) // 2
    return ordered[np.arange(len(size)), middle][:, None]


def _shifted(values: Array, by: int) -> Array:
    """The neighbour `by` places on, NaN beyond the ends."""
    out = np.full(values.shape, np.nan)
    if by > 0:
        out[:, :-by] = values[:, by:]
    else:
        out[:, -by:] = values[:, :by]
    return out


def _alone(z: Array, limit: Array) -> Mask:
    """Whether all neighbours lie far off, on the same side."""
    out = np.ones(z.shape, dtype=bool)
    with np.errstate(invalid="ignore"):
        for by in (-2, -1, 1, 2):
            away = (z - _shifted(z, by)) * np.sign(z)
            out &= (away > limit) | np.isnan(away)
    return out


def _impossible(v: Array, i: Array, tolerance: Array) -> Mask:
    """Whether a point lies below the chord of its neighbours or above their chords prolonged."""
    v1, v2, w1, w2 = (_shifted(v, by) for by in (-1, -2, 1, 2))
    i1, i2, j1, j2 = (_shifted(i, by) for by in (-1, -2, 1, 2))
    with np.errstate(invalid="ignore", divide="ignore"):
        share = (v - v1) / (w1 - v1)
        below = i - (i1 + share * (j1 - i1)) < -tolerance * np.sqrt(1 + share**2 + (1 - share) ** 2)
        out = below | ((i < j1 - tolerance) & np.isnan(i1))
        for near_v, far_v, near_i, far_i in ((v1, v2, i1, i2), (w1, w2, j1, j2)):
            reach = (v - near_v) / (near_v - far_v)
            above = i - (near_i + reach * (near_i - far_i))
            out |= above > tolerance * np.sqrt(1 + (1 + reach) ** 2 + reach**2)
    return out

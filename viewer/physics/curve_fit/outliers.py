"""Single points that neither the fitted curve nor their neighbours allow.

Limits without a source are judgement.
"""

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
    with np.errstate(invalid="ignore"):
        suspect = (np.abs(z) > LIMIT) & (np.abs(fitted.deviation) > LEAST * state.stretch)
    rows = np.flatnonzero(suspect.any(axis=1) & (batch.count > UNKNOWNS + 4))
    out = np.zeros(suspect.shape, dtype=bool)
    if rows.size:
        voltage = np.where(batch.used, batch.voltage, np.nan)[rows]
        current = np.where(batch.used, batch.current, np.nan)[rows]
        noise_here = (scale / state.stretch)[rows]
        out[rows] = (
            suspect[rows] & _alone(z[rows]) & _impossible(voltage, current, LIMIT * noise_here)
        )
    return out


def most_suspicious(batch: SweepBatch) -> Mask:
    """Before any fit: at most one point of each sweep that its neighbours do not allow.

    One far point among few can draw the curve so far that it hides in the noise; such a sweep
    is better fitted without it first. (sweeps, points), to be confirmed by that fit.
    """
    voltage = np.where(batch.used, batch.voltage, np.nan)
    current = np.where(batch.used, batch.current, np.nan)
    excess = _violation(voltage, current)
    out = np.zeros(batch.used.shape, dtype=bool)
    worst = np.argmax(excess, axis=1)
    rows = np.arange(len(batch))
    out[rows, worst] = (excess[rows, worst] > 0) & (batch.count > UNKNOWNS + 4)
    return out


def confirmed(suspects: Mask, without: LeastSquares, noise: Noise) -> Mask:
    """Which suspects lie beyond the noise of the fit `without` them."""
    state = without.state
    scale = np.hypot(
        noise.current[:, None] * state.stretch, noise.voltage[:, None] * state.conductance
    )
    large = np.abs(without.deviation) > np.maximum(LIMIT * scale, LEAST * state.stretch)
    return suspects & large


def _violation(v: Array, i: Array) -> Array:
    """How far each point lies outside what its neighbours allow, beyond a rough noise; else 0.

    The noise is read from the plateau, in voltage taken to be the same share.
    """
    v1, w1, i1, j1 = (_shifted(x, by) for x in (v, i) for by in (-1, 1))
    with np.errstate(invalid="ignore", divide="ignore", over="ignore"):
        chord = i1 + (v - v1) / (w1 - v1) * (j1 - i1)
        slope = np.abs((j1 - i1) / (w1 - v1))
        bend = np.where((v < 0.6) & np.isfinite(chord), np.abs(i - chord), np.inf)
        count = np.count_nonzero(np.isfinite(bend), axis=1)
        middle = np.sort(bend, axis=1)[np.arange(len(v)), np.maximum(count - 1, 0) // 2]
        rough = np.where(count > 4, middle / 0.826, 0.01)[:, None]
        tolerance = LIMIT * np.maximum(rough, LEAST) * (1.0 + slope)
        ahead, behind = (_prolonged(v, i, side) for side in (1, -1))
        low = np.fmin(chord, np.fmin(ahead, behind)) - i
        high = i - np.maximum(ahead, behind)
        inner = np.isfinite(chord)
        return np.where(inner, np.nan_to_num(np.fmax(low, high) - tolerance, nan=0.0), 0.0)


def _prolonged(v: Array, i: Array, side: int) -> Array:
    """The line through the two points on one side, at each point."""
    near_v, far_v = _shifted(v, side), _shifted(v, 2 * side)
    near_i, far_i = _shifted(i, side), _shifted(i, 2 * side)
    return near_i + (v - near_v) / (near_v - far_v) * (near_i - far_i)


def _shifted(values: Array, by: int) -> Array:
    """The neighbour `by` places on, NaN beyond the ends."""
    out = np.full(values.shape, np.nan)
    if by > 0:
        out[:, :-by] = values[:, by:]
    else:
        out[:, -by:] = values[:, :by]
    return out


def _alone(z: Array) -> Mask:
    """Whether all neighbours lie far off, on the same side."""
    out = np.ones(z.shape, dtype=bool)
    with np.errstate(invalid="ignore"):
        for by in (-2, -1, 1, 2):
            away = (z - _shifted(z, by)) * np.sign(z)
            out &= (away > LIMIT) | np.isnan(away)
    return out


def _impossible(v: Array, i: Array, tolerance: Array) -> Mask:
    """Whether a point lies below the chord of its neighbours or above their chords prolonged."""
    v1, v2, w1, w2 = (_shifted(v, by) for by in (-1, -2, 1, 2))
    i1, i2, j1, j2 = (_shifted(i, by) for by in (-1, -2, 1, 2))
    with np.errstate(invalid="ignore", divide="ignore", over="ignore"):
        share = (v - v1) / (w1 - v1)
        below = i - (i1 + share * (j1 - i1)) < -tolerance * np.sqrt(1 + share**2 + (1 - share) ** 2)
        out = below | ((i < j1 - tolerance) & np.isnan(i1))
        for near_v, far_v, near_i, far_i in ((v1, v2, i1, i2), (w1, w2, j1, j2)):
            reach = (v - near_v) / (near_v - far_v)
            above = i - (near_i + reach * (near_i - far_i))
            out |= above > tolerance * np.sqrt(1 + (1 + reach) ** 2 + reach**2)
    return out

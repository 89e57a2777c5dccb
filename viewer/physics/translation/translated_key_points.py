"""Key points of many translated curves at once.

For one curve use `measured_sweep.key_points.find_key_points`; this one takes a whole batch that may
hold NaN, which the propagation of uncertainty needs.
"""

import numpy as np
from numpy.typing import NDArray

from viewer.physics.translation.procedures import TranslatedCurve

Array = NDArray[np.float64]
Mask = NDArray[np.bool_]
Places = NDArray[np.int64]

WINDOW = 0.12
"""The power is fitted within this share of Vmp either side."""

FITTED = 61
"""Points that the fit is drawn through, spread over that stretch, unless told otherwise."""

CORNER = 0.012
"""A polynomial that stays below the highest point by this share has cut a corner off; scatter
of the points (a few tenths of a percent) leaves less."""

DEGREE = 4
NEWTON_STEPS = 8


def translated_key_points(curve: TranslatedCurve, fitted: int = FITTED) -> dict[str, Array]:
    """i_sc, v_oc, i_mp, v_mp, p_mp, fill_factor, each of the batch's shape (...).

    The maximum is that of a polynomial of degree 4 through the powers near the highest point,
    at most `fitted` of them. Where the polynomial cuts off the corner of a step, the highest
    point itself is taken. NaN for a curve without points.
    """
    v, i = curve.voltage, curve.current
    good = np.isfinite(v) & np.isfinite(i)
    power = np.where(good, v * i, -np.inf)
    top = np.argmax(power, axis=-1)[..., None]
    v_top = np.take_along_axis(v, top, -1)
    v_top = np.where(v_top > 0.0, v_top, np.nan)
    with np.errstate(invalid="ignore"):
        near = np.abs(v / v_top - 1.0) <= WINDOW
    stride = np.maximum(-(-near.sum(-1, keepdims=True) // fitted), 1)
    chosen, there = _neighbours(good, top, stride * (np.arange(fitted) - fitted // 2))
    x = (v.ravel()[chosen] / v_top - 1.0) / WINDOW
    y = power.ravel()[chosen]
    good = np.isfinite(x) & np.isfinite(y) & (np.abs(x) <= 1.0) & there
    x, y = np.where(good, x, 0.0), np.where(good, y, 0.0)
    fit = _polynomial(x, y, good)
    at = _maximum(fit, v_top[..., 0].shape)
    highest = np.take_along_axis(power, top, -1)[..., 0]
    smooth = _value(fit, at)
    with np.errstate(invalid="ignore"):
        missed = highest - smooth > CORNER * highest
    p_mp = np.where(missed, highest, smooth)
    p_mp = np.where(np.isfinite(highest), p_mp, np.nan)
    v_mp = v_top[..., 0] * (1.0 + np.where(missed, 0.0, WINDOW * at))
    most = np.asarray(curve.i_sc * curve.v_oc)
    return {
        "i_sc": curve.i_sc,
        "v_oc": curve.v_oc,
        "i_mp": p_mp / v_mp,
        "v_mp": v_mp,
        "p_mp": p_mp,
        "fill_factor": p_mp / np.where(most > 0.0, most, np.nan),
    }


def _polynomial(x: Array, y: Array, near: NDArray[np.bool_]) -> Array:
    """Coefficients, lowest first, of the least-squares polynomial: shape (..., DEGREE + 1).

    The normal equations need only sums of powers of x: entry (j, k) is the sum of x^(j + k).
    """
    power = near.astype(float)
    sums, right = [], []
    for order in range(2 * DEGREE + 1):
        sums.append(power.sum(-1))
        if order <= DEGREE:
            right.append((power * y).sum(-1))
        power = power * x
    places = np.add.outer(np.arange(DEGREE + 1), np.arange(DEGREE + 1))
    left = np.stack(sums, axis=-1)[..., places] + 1e-12 * np.eye(DEGREE + 1)
    found = np.linalg.solve(left, np.stack(right, axis=-1)[..., None])[..., 0]
    return np.asarray(found, dtype=float)


def _neighbours(good: Mask, top: Places, steps: Places) -> tuple[Places, Mask]:
    """Places, in the flattened batch, of the points that many `steps` from the point `top` of
    each curve, and whether they are there.

    Only points that are `good` (..., points) are counted: which are neighbours must not depend
    on how a batch was filled up. top (..., 1), steps (..., n).
    """
    points = np.append(np.flatnonzero(good), 0)
    count = good.sum(-1)
    begin = (np.cumsum(count).reshape(count.shape) - count)[..., None]
    rows = np.arange(count.size).reshape(count.shape)[..., None]
    wanted = np.searchsorted(points[:-1], rows * good.shape[-1] + top) + steps
    there = (wanted >= begin) & (wanted < begin + count[..., None])
    return points[np.where(there, wanted, -1)], there


def _value(fit: Array, x: Array, derivative: int = 0) -> Array:
    total = np.zeros_like(x)
    for k in range(DEGREE, derivative - 1, -1):
        factor = np.prod(np.arange(k - derivative + 1, k + 1)) if derivative else 1.0
        total = total * x + factor * fit[..., k]
    return total


def _maximum(fit: Array, shape: tuple[int, ...]) -> Array:
    """Where the polynomial is highest near the middle, by Newton on its slope."""
    x = np.zeros(shape)
    for _ in range(NEWTON_STEPS):
        bend = np.minimum(_value(fit, x, 2), -1e-12)
        x = np.clip(x - _value(fit, x, 1) / bend, -1.0, 1.0)
    return x

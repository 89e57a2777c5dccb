"""A short polynomial through what a fitted curve misses, over as wide a span as may be believed.

Of several spans the widest is used whose polynomial leaves only noise and agrees with those of
all narrower spans (O. V. Lepski, Theory Probab. Appl. 35 (1991) 454-466; intersection of
confidence intervals).
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from viewer.physics.curve_fit.least_squares import symmetric_inverse

Array = NDArray[np.float64]
Mask = NDArray[np.bool_]

MARGIN = 2.2
"""Standard deviations around each span's estimate within which all narrower ones must agree."""
CHANCE = 3.0
"""Standard deviations that scatter or likeness within a span may exceed the expected by."""
DOUBT = 0.5
"""Share of the change from span to span that counts as a standard uncertainty."""


@dataclass(frozen=True, eq=False)
class Correction:
    """Polynomial in (place - centre): `coefficients` (sweeps, terms), `covariance`, `span`."""

    coefficients: Array
    covariance: Array
    span: Array


@dataclass(frozen=True, eq=False)
class Deviations:
    """What points miss: `above` at `place`, spread `width` for unit noise, (sweeps, points);
    `distance` from where the spans begin; `noise` (sweeps,) the unit."""

    place: Array
    above: Array
    width: Array
    used: Mask
    distance: Array
    noise: Array


def correct(missed: Deviations, centre: Array, spans: tuple[float, ...], terms: int) -> Correction:
    """The polynomial of `terms` coefficients around `centre` (sweeps, 1).

    Its covariance includes doubt from how far it moved when the span was widened last.
    """
    distance = np.where(missed.used, missed.distance, np.inf)
    nearest = np.sort(distance, axis=1)
    missed, distance = _within(missed, distance, nearest, spans[-1], terms + 2 * len(spans))
    chosen: Correction | None = None
    going_on = np.ones(len(centre), dtype=bool)
    low, high = np.full(len(centre), -np.inf), np.full(len(centre), np.inf)
    t = missed.place - centre
    for number, span in enumerate(spans):
        fewest = min(max(terms + 2 * number, 3 if terms == 3 else 4), nearest.shape[1]) - 1
        reach = np.maximum(span, nearest[:, fewest] * (1.0 + 1e-12))
        reach = np.where(np.isfinite(reach), reach, span)
        weight = (distance <= reach[:, None]) / missed.width
        fit, believable = _polynomial(t, missed.above, weight, missed.noise, terms, reach)
        value, margin = fit.coefficients[:, 0], MARGIN * np.sqrt(fit.covariance[:, 0, 0])
        low, high = np.maximum(low, value - margin), np.minimum(high, value + margin)
        going_on &= (low <= high) & believable
        chosen = fit if chosen is None else _where(going_on, fit, chosen)
    assert chosen is not None
    return chosen


def _within(
    missed: Deviations, distance: Array, nearest: Array, span: float, fewest: int
) -> tuple[Deviations, Array]:
    """Only the points that the widest span can hold, in their order."""
    points = distance.shape[1]
    most = max(int(np.count_nonzero(nearest <= span, axis=1).max(initial=0)), fewest)
    if most >= 0.8 * points:
        return missed, distance
    keep = np.sort(np.argpartition(distance, most, axis=1)[:, :most], axis=1)
    place, above, width = (
        np.take_along_axis(x, keep, axis=1) for x in (missed.place, missed.above, missed.width)
    )
    used: Mask = np.take_along_axis(missed.used, keep, axis=1)
    near: Array = np.take_along_axis(distance, keep, axis=1)
    return Deviations(place, above, width, used, near, missed.noise), near


def _polynomial(
    t: Array, above: Array, weight: Array, noise: Array, terms: int, reach: Array
) -> tuple[Correction, NDArray[np.bool_]]:
    """Weighted least squares for each sweep, and whether what is left looks like the noise."""
    size = np.max(np.abs(np.where(weight > 0, t, 0.0)), axis=1, keepdims=True)
    size = np.maximum(size, 1e-9)
    basis = np.stack([(t / size) ** k for k in range(terms)], axis=1) * weight[:, None, :]
    target = above * weight
    matrix = basis @ basis.swapaxes(1, 2)
    # too few points for all terms leave the highest ones at nothing
    total = np.trace(matrix, axis1=1, axis2=2)
    matrix[:, range(terms), range(terms)] += 1e-10 * np.maximum(total, 1e-30)[:, None]
    inverse = symmetric_inverse(matrix)
    right = (basis @ target[:, :, None])[..., 0]
    coefficients = (inverse @ right[..., None])[..., 0]
    left = target - np.einsum("nkp,nk->np", basis, coefficients)
    count = np.count_nonzero(weight > 0, axis=1)
    freedom = np.maximum(count - terms, 1)
    square = np.einsum("np,np->n", left, left)
    alike = np.einsum("np,np->n", left[:, 1:], left[:, :-1]) / np.maximum(square, 1e-300)
    chance = 1.0 / np.sqrt(np.maximum(count, 1))
    ratio = square / freedom / noise**2
    believable = (ratio < 1.3 + CHANCE * np.sqrt(2.0 / freedom)) & (alike < CHANCE * chance)
    alike = np.clip(np.where(alike > 2.0 * chance, alike, 0.0), 0.0, 0.9)
    level = noise**2 * np.maximum(ratio, 1.0) * (1.0 + alike) / (1.0 - alike)
    scale = size ** -np.arange(terms, dtype=float)
    covariance = inverse * scale[:, :, None] * scale[:, None, :] * level[:, None, None]
    return Correction(coefficients * scale, covariance, reach), believable


def _where(choose: NDArray[np.bool_], first: Correction, second: Correction) -> Correction:
    shift = np.abs(first.coefficients - second.coefficients)
    doubt = first.covariance + np.eye(shift.shape[1]) * (shift[:, None, :] * DOUBT) ** 2
    return Correction(
        np.where(choose[:, None], first.coefficients, second.coefficients),
        np.where(choose[:, None, None], doubt, second.covariance),
        np.where(choose, first.span, second.span),
    )

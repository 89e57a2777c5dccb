"""Noise of a sweep, told from what a smooth curve misses.

Neighbouring points share what the curve misses but not their noise. The noise is therefore
read from each point against the line through its two neighbours (after the fitted curve is
taken away), the misfit from how alike neighbouring deviations are.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from viewer.physics.curve_fit.least_squares import Approach, LeastSquares
from viewer.physics.curve_fit.sweep_batch import SweepBatch

Array = NDArray[np.float64]
Mask = NDArray[np.bool_]

UNKNOWNS = 5
LARGEST_VOLTAGE_SHARE = 5.0
REWEIGHTINGS = 3
RESOLUTION = 1e-9
"""Noise below this share of Isc is rounding, not measurement."""


@dataclass(frozen=True, eq=False)
class Noise:
    """In units of each sweep's Isc and Voc, all (sweeps,).

    current, voltage: standard deviation of a point in either direction. misfit: root mean
    square of the deviations in the current's measure, degrees of freedom taken off.
    likeness: lag-one autocorrelation of the deviations in order of voltage.
    """

    current: Array
    voltage: Array
    misfit: Array
    likeness: Array
    count: NDArray[np.int64]

    @property
    def curve_misses(self) -> Mask:
        """Whether the deviations are more alike than noise would leave them."""
        expected_spread = 1.0 / np.sqrt(np.maximum(self.count, 1))
        telling = self.misfit > 5 * RESOLUTION
        return telling & (self.likeness > 3.0 * expected_spread) & (self.count > UNKNOWNS + 2)

    @property
    def repetition(self) -> Array:
        """How many points carry the information of one, 1 for independent noise."""
        alike = np.where(
            self.likeness > 2.0 / np.sqrt(np.maximum(self.count, 1)), self.likeness, 0.0
        )
        alike = np.clip(alike, 0.0, 0.95)
        return (1.0 + alike) / (1.0 - alike)


def second_differences(values: Array, place: Array, used: Mask) -> tuple[Array, Array, Mask]:
    """Each inner point against the line through its neighbours, its leverages, and where valid.

    values, place, used: (sweeps, points) with the used points first or in one run. Returns
    arrays (sweeps, points - 2): difference, weight of the right neighbour, validity.
    """
    width = place[:, 2:] - place[:, :-2]
    valid = used[:, 2:] & used[:, 1:-1] & used[:, :-2] & (width > 0)
    to_right = np.where(
        valid, (place[:, 1:-1] - place[:, :-2]) / np.where(width > 0, width, 1.0), 0.5
    )
    to_right = np.clip(to_right, 0.0, 1.0)
    between = values[:, :-2] + to_right * (values[:, 2:] - values[:, :-2])
    return values[:, 1:-1] - between, to_right, valid


def estimate(batch: SweepBatch, fitted: LeastSquares, repeated: bool = False) -> Noise:
    """The noise around a fitted curve.

    repeated: the points of a row come from several sweeps of one curve, which differ by noise
    alone; then all deviations count as noise, not only what neighbours do not share.
    """
    stretch, conductance = fitted.state.stretch, fitted.state.conductance
    in_current = fitted.deviation / stretch
    steepness = (conductance / stretch) ** 2
    if repeated:
        difference, share_i, share_v = in_current, np.ones_like(steepness), steepness
        valid = batch.used
    else:
        difference, to_right, valid = second_differences(in_current, batch.voltage, batch.used)
        share_v = _spread_of(steepness, to_right)
        share_i = 1.0 + to_right**2 + (1.0 - to_right) ** 2
    current, voltage = _two_components(difference, share_i, share_v, valid, fitted.voltage_share)
    z = np.where(batch.used, fitted.normalised, 0.0)
    count = batch.count
    total = np.einsum("np,np->n", z, z)
    misfit = np.sqrt(total / np.maximum(count - UNKNOWNS, 1))
    both = batch.used[:, 1:] & batch.used[:, :-1]
    alike = np.einsum("np,np->n", z[:, 1:] * both, z[:, :-1])
    likeness = alike / np.maximum(total, 1e-300)
    return Noise(current, voltage, misfit, likeness, count)


def voltage_share(batch: SweepBatch, fitted: Approach) -> Array:
    """Scatter in voltage over scatter in current, (sweeps, 1), by which a fit weighs its points.

    All deviations count here, so that what the curve misses near Voc does not decide the fit.
    """
    stretch = fitted.state.stretch
    in_current = fitted.deviation / stretch
    steepness = (fitted.state.conductance / stretch) ** 2
    current, voltage = _two_components(
        in_current, np.ones_like(steepness), steepness, batch.used, fitted.voltage_share
    )
    return (voltage / current)[:, None]


def _spread_of(variance: Array, to_right: Array) -> Array:
    """Variance of a second difference whose points have `variance`."""
    left, here, right = variance[:, :-2], variance[:, 1:-1], variance[:, 2:]
    return here + to_right**2 * right + (1.0 - to_right) ** 2 * left


def _two_components(
    difference: Array, share_i: Array, share_v: Array, valid: Mask, first_share: Array
) -> tuple[Array, Array]:
    """Noise in current and in voltage from where the squared differences are large.

    Reweighted regressions of the squares on the two shares; squares beyond a limit are
    cut so that an outlier does not decide.
    """
    var_i = np.full((len(difference), 1), 1.0)
    var_v = np.broadcast_to(first_share**2, var_i.shape)
    squares = difference**2
    count = np.count_nonzero(valid, axis=1)
    for _ in range(REWEIGHTINGS):
        model = share_i * var_i + share_v * var_v
        level = _median_level(np.where(valid, squares / model, np.inf), count)
        var_i, var_v, model = var_i * level, var_v * level, model * level
        cut = np.where(valid, np.minimum(squares, 12.0 * model), 0.0)
        weight = valid / model**2
        aii = np.sum(weight * share_i**2, axis=1, keepdims=True)
        avv = np.sum(weight * share_v**2, axis=1, keepdims=True)
        aiv = np.sum(weight * share_i * share_v, axis=1, keepdims=True)
        bi = np.sum(weight * share_i * cut, axis=1, keepdims=True)
        bv = np.sum(weight * share_v * cut, axis=1, keepdims=True)
        alone_i = bi / np.maximum(aii, 1e-300)
        alone_v = bv / np.maximum(avv, 1e-300)
        determinant = aii * avv - aiv**2
        apart = determinant > 1e-9 * aii * avv
        determinant = np.where(apart, determinant, 1.0)
        both_i = np.where(apart, (bi * avv - bv * aiv) / determinant, alone_i)
        both_v = np.where(apart, (bv * aii - bi * aiv) / determinant, 0.0)
        var_i = np.where(both_v <= 0, alone_i, np.where(both_i <= 0, 0.0, both_i))
        var_v = np.where(both_v <= 0, 0.0, np.where(both_i <= 0, alone_v, both_v))
        var_i = np.maximum(var_i, np.maximum(RESOLUTION**2, var_v / LARGEST_VOLTAGE_SHARE**2))
    return np.sqrt(var_i[:, 0]), np.sqrt(var_v[:, 0])


def _median_level(ratio: Array, count: NDArray[np.int64]) -> Array:
    """Median of squares over their expectation, 1 for normal noise (0.4549 is its median).

    ratio: (sweeps, points), infinite where it does not count; `count` those that do.
    """
    middle = np.maximum(count - 1, 0) // 2
    ordered = np.sort(ratio, axis=1)
    level = ordered[np.arange(len(ratio)), middle] / 0.4549
    return np.clip(np.where(count > 0, level, 1.0), 1e-30, 1e30)[:, None]

"""Least-squares fit of a reduced string to a sweep, by Levenberg-Marquardt steps within limits."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.linalg.lapack import dposv

from viewer.analysis.reduced_string import Reference, current_of, slopes_of, stair_count
from viewer.analysis.signature_fit import Fit, Places, Prior, Sweep, limits

Array = NDArray[np.float64]

PROMISE, PROMISE_AGAIN, PROMISE_POINTS = 1e-3, 1e-2, 60.0
"""A step that would lower the squared residuals by less than this share (plus so many points) is
not taken; the second holds once a step has failed."""
ENOUGH, ENOUGH_POINTS = 1e-3, 0.05
"""A step that lowers them by less than this share, and this much, is the last."""
ATTEMPTS = 4
OUTLIER = 4.0
"""Residuals beyond this many standard deviations count only in proportion."""


@dataclass(frozen=True, eq=False)
class _Point:
    """Where the descent is: the model's currents, residuals over `spread`, and what they cost."""

    vector: Array
    model: Array
    spread: Array
    residual: Array
    off: Array
    """The free parameters' distance from what is known beforehand."""
    cost: float
    total: float


@dataclass(frozen=True, eq=False)
class _Slopes:
    """How the residuals fall from a point on; see Fit."""

    model: Array
    per_volt: Array
    jacobian: Array
    normal: Array
    gradient: Array


class _Descent:
    """What stays the same from step to step."""

    def __init__(
        self,
        reference: Reference,
        sweep: Sweep,
        present: float,
        free: Places,
        known: tuple[Array, Array],
    ) -> None:
        self.reference, self.sweep, self.present, self.free = reference, sweep, present, free
        self.centre, width = known
        self.weight = 1.0 / width[free] ** 2
        self.low, self.high = limits(stair_count(self.centre))

    def at(self, vector: Array) -> _Point:
        sweep = self.sweep
        model, slope = current_of(
            self.reference, vector, self.present, sweep.voltage, sweep.noise_voltage
        )
        spread = np.sqrt(sweep.noise_current**2 + (slope * sweep.noise_voltage) ** 2)
        residual = held_back((sweep.current - model) / spread)
        off = (vector - self.centre)[self.free]
        cost = float(residual @ residual)
        total = cost + float(self.weight @ off**2)
        return _Point(vector, model, spread, residual, off, cost, total)

    def slopes(self, point: _Point) -> _Slopes:
        slopes = slopes_of(self.reference, point.vector, self.present, point.model)
        per_volt = np.minimum(
            1.0 / (-slopes.by_current * point.spread), 1.0 / self.sweep.noise_voltage
        )
        jacobian = slopes.by_parameter[self.free] * per_volt
        normal = jacobian @ jacobian.T
        normal.flat[:: self.free.size + 1] += self.weight
        gradient = jacobian @ point.residual - self.weight * point.off
        return _Slopes(point.model, per_volt, jacobian, normal, gradient)

    def lower(self, point: _Point, slopes: _Slopes, damping: float) -> tuple[_Point | None, float]:
        """A point that is lower, if one is in reach and worth it, and the damping it took."""
        normal, free = slopes.normal, self.free
        room = self.low[free] - point.vector[free], self.high[free] - point.vector[free]
        for attempt in range(ATTEMPTS):
            damped = normal.copy()
            damped.flat[:: free.size + 1] *= 1.0 + damping
            step = _within(damped, slopes.gradient, *room)
            promise = float(step @ (2.0 * slopes.gradient - normal @ step))
            least = PROMISE_AGAIN if attempt else PROMISE
            if promise < least * (point.total + PROMISE_POINTS):
                break
            vector = point.vector.copy()
            vector[free] += step
            trial = self.at(vector)
            if trial.total < point.total:
                return trial, damping
            damping = max(damping * 8.0, 1e-3)
        return None, damping


def fit_string(
    reference: Reference,
    start: Array,
    present: float,
    sweep: Sweep,
    free: Places,
    prior: Prior,
    iterations: int = 10,
) -> Fit:
    """The fit from `start` over the places `free`; the other parameters stay as they are.

    `present` is the share of the groups left, `iterations` at least 1.
    """
    descent = _Descent(reference, sweep, present, free, prior.of(start))
    point = descent.at(np.clip(start, descent.low, descent.high))
    damping = 1e-3
    for _ in range(iterations):
        slopes = descent.slopes(point)
        lower, damping = descent.lower(point, slopes, damping)
        if lower is None:
            break
        gained = point.total - lower.total
        enough = gained < ENOUGH * point.total + ENOUGH_POINTS
        point = lower
        damping *= 0.2
        if enough:
            break
    return Fit(
        vector=point.vector,
        present=present,
        cost=point.cost,
        penalty=point.total - point.cost,
        residual=point.residual,
        free=free,
        normal=slopes.normal,
        jacobian=slopes.jacobian,
        gradient=slopes.jacobian @ point.residual - descent.weight * point.off,
        model=slopes.model,
        per_volt=slopes.per_volt,
    )


def held_back(residual: Array) -> Array:
    """Residuals with outliers so that their squares grow in proportion only."""
    size = np.abs(residual)
    far = size > OUTLIER
    if not far.any():
        return residual
    kept = np.sqrt(OUTLIER * (2.0 * np.maximum(size, OUTLIER) - OUTLIER))
    return np.where(far, np.sign(residual) * kept, residual)


def _within(normal: Array, gradient: Array, low: Array, high: Array) -> Array:
    """The step between `low` and `high` that lowers the squares most, one bound after another."""
    step = dposv(normal, gradient)[1]
    held = (step < low) | (step > high)
    if not held.any():
        return step
    step = np.clip(step, low, high)
    rest = np.flatnonzero(~held)
    if rest.size:
        left = gradient[rest] - normal[np.ix_(rest, np.flatnonzero(held))] @ step[held]
        step[rest] = np.clip(dposv(normal[np.ix_(rest, rest)], left)[1], low[rest], high[rest])
    return step

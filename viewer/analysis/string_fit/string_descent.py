"""Least-squares fits of reduced strings to sweeps, by Levenberg-Marquardt steps within limits.

Fits of about as many stairs and points descend side by side, a fit a row, each by steps of its own.
Rows end and others begin at any turn, so that there are mostly many.
"""

import math
from collections import deque
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from viewer.analysis.string_fit.reduced_string import (
    STRING_PARAMETERS,
    Reference,
    stair_count,
    stair_place,
)
from viewer.analysis.string_fit.signature_fit import Fit, Places, Prior, Sweep, limits
from viewer.analysis.string_fit.string_curves import Strings, current_of, slopes_of
from viewer.analysis.string_fit.taking_turns import Asked

Array = NDArray[np.float64]
Flags = NDArray[np.bool_]
Rows = NDArray[np.intp]

PROMISE, PROMISE_AGAIN, PROMISE_POINTS = 3e-3, 1e-2, 60.0
"""A step that would lower the squared residuals by less than this share (plus so many points) is
not taken; the second holds once a step has failed."""
ENOUGH, ENOUGH_POINTS = 6e-3, 0.2
"""A step that lowers them by less than this share, and this much, is the last."""
MOST_STEP = np.array([0.2, 0.1, 0.1, 0.3, 0.15, 0.5, 0.004])
MOST_STEP_OF_STAIR = np.array([np.inf, np.inf, 0.2, np.inf])
"""Steps are no longer than this in any parameter: farther the derivatives lead astray, mostly into
a bent knee or a stair of all cells."""
ATTEMPTS = 4
FIRST_DAMPING, LESS, MORE = 1e-3, 0.2, 8.0
OUTLIER = 4.0
"""Residuals beyond this many standard deviations count only in proportion."""
MOST_ROWS = 32
"""So many fits descend side by side at most."""
SHORTEST = 112
"""Sweeps of up to so many points are filled up to it, those of up to twice as many to twice, and
so on, so that a fit comes out the same to the last bit in whatever company.
"""

ROOM_FOR_STAIRS = (1, 1, 2, 4, 4)
"""Fits with so many stairs (0 and more) go side by side with those of so many."""
_NO_STAIR = np.array([0.0, 0.5, 1.0, 0.0])
"""A stair of no groups, which a fit with fewer stairs than its neighbours carries along."""


@dataclass(frozen=True, eq=False)
class FitAsked(Asked[Fit]):
    """A fit from `start` over the places `free`; the other parameters stay as they are.

    `present` is the share of the groups left, `iterations` (at least 1) the most steps.
    """

    reference: Reference
    start: Array
    present: float
    sweep: Sweep
    free: Places
    prior: Prior
    iterations: int

    @property
    def kind(self) -> tuple[int, int]:
        """Room for stairs and for points."""
        stairs = stair_count(self.start)
        room = ROOM_FOR_STAIRS[stairs] if stairs < len(ROOM_FOR_STAIRS) else stairs
        doublings = math.ceil(math.log2(max(self.sweep.voltage.size / SHORTEST, 1.0)))
        return room, SHORTEST * 2**doublings

    def together(self) -> "Descents":
        return Descents(*self.kind)


@dataclass(eq=False)
class _Going:
    """One descent: what only its end needs."""

    ticket: int
    asked: FitAsked
    residual: Array
    ahead: "_Slopes"
    row: int
    """Of the descent in `ahead`."""


@dataclass(frozen=True, eq=False)
class _Points:
    """Where descents are: the model's currents, residuals over `spread`, and what they cost."""

    model: Array
    spread: Array
    residual: Array
    cost: Array
    total: Array


@dataclass(frozen=True, eq=False)
class _Slopes:
    """How the residuals fall from points on; see Fit. What is not free has slope nothing."""

    model: Array
    per_volt: Array
    jacobian: Array
    normal: Array
    gradient: Array


class Descents:
    """Fits that are alike, on their way, a row each. Every turn takes each a step further."""

    def __init__(self, stairs: int, points: int) -> None:
        parameters = stair_place(stairs, 0)
        self._no_stairs = np.tile(_NO_STAIR, stairs)
        self._going: dict[int, _Going] = {}
        self._waiting: deque[tuple[int, FitAsked]] = deque()
        self._unused = list(range(MOST_ROWS))
        self._low, self._high = limits(stairs)
        self._most = np.concatenate((MOST_STEP, np.tile(MOST_STEP_OF_STAIR, stairs)))
        self._strings = Strings.room_for(MOST_ROWS)
        self._voltage, self._current, self._counts = np.zeros((3, MOST_ROWS, points))
        self._noise_voltage, self._noise_current = np.zeros((2, MOST_ROWS, 1))
        self._free = np.zeros((MOST_ROWS, parameters), dtype=bool)
        self._vector, self._centre, self._weight, self._gradient = np.zeros(
            (4, MOST_ROWS, parameters)
        )
        self._normal = np.zeros((MOST_ROWS, parameters, parameters))
        self._cost, self._total, self._damping = np.zeros((3, MOST_ROWS))
        self._left, self._failed = np.zeros((2, MOST_ROWS), dtype=np.intp)

    def __len__(self) -> int:
        return len(self._going) + len(self._waiting)

    def add(self, ticket: int, asked: FitAsked) -> None:
        self._waiting.append((ticket, asked))

    def turn(self) -> list[tuple[int, Fit]]:
        """A step for each; the fits that this ended, with their tickets.

        Raises ValueError where a prediction or sweep has no finite numbers to begin with.
        """
        old = np.array(list(self._going), dtype=np.intp)
        step, promising = self._step(old)
        ended = [self._end(row) for row in old[~promising].tolist()]
        new = self._begun()
        rows = np.concatenate((old[promising], new))
        if rows.size == 0:
            return ended
        vectors = self._vector[rows]
        vectors[: rows.size - new.size] += step[promising]
        trial = self._at(rows, vectors)
        if not np.isfinite(trial.total[rows.size - new.size :]).all():
            raise ValueError("A curve or a sweep without finite numbers cannot be fitted.")
        before = self._total[rows]
        lower = trial.total < before
        gained = before - trial.total
        better = np.flatnonzero(lower)
        self._take(rows[better], vectors[better], trial, better)
        goes_on = self._goes_on(rows, lower, gained < ENOUGH * before + ENOUGH_POINTS)
        onward = np.flatnonzero(lower & goes_on)
        if onward.size:
            self._look_ahead(rows[onward], vectors[onward], trial, onward)
        return ended + [self._end(row) for row in rows[~goes_on].tolist()]

    def _begun(self) -> Rows:
        """Rows that begin now: any finite point is better than none."""
        rows = []
        while self._waiting and self._unused:
            ticket, asked = self._waiting.popleft()
            row = self._unused.pop()
            rows.append(row)
            sweep, size = asked.sweep, asked.sweep.voltage.size
            self._strings.put(row, asked.reference, asked.present)
            for points, values in ((self._voltage, sweep.voltage), (self._current, sweep.current)):
                points[row, :size], points[row, size:] = values, values[-1]
            self._counts[row, :size], self._counts[row, size:] = sweep.weight, 0.0
            self._noise_voltage[row], self._noise_current[row] = (
                sweep.noise_voltage,
                sweep.noise_current,
            )
            self._free[row] = False
            self._free[row, asked.free] = True
            start = asked.start
            lacks = self._no_stairs[start.size - STRING_PARAMETERS :]
            centre, width = asked.prior.of(start)
            self._centre[row, : start.size] = centre
            self._weight[row] = 0.0
            self._weight[row, asked.free] = 1.0 / width[asked.free] ** 2
            self._vector[row, : start.size], self._vector[row, start.size :] = start, lacks
            np.clip(self._vector[row], self._low, self._high, out=self._vector[row])
            self._total[row], self._damping[row] = np.inf, FIRST_DAMPING / LESS
            self._left[row], self._failed[row] = asked.iterations + 1, 0
            self._going[row] = _Going(ticket, asked, _NOTHING, _NO_SLOPES, 0)
        return np.array(rows, dtype=np.intp)

    def _take(self, rows: Rows, vectors: Array, trial: _Points, which: Rows) -> None:
        self._vector[rows] = vectors
        self._cost[rows], self._total[rows] = trial.cost[which], trial.total[which]
        for row, k in zip(rows.tolist(), which.tolist(), strict=True):
            self._going[row].residual = trial.residual[k]

    def _goes_on(self, rows: Rows, lower: Flags, enough: Flags) -> Flags:
        self._left[rows] -= lower
        self._failed[rows] = np.where(lower, 0, self._failed[rows] + 1)
        damping = self._damping[rows]
        self._damping[rows] = np.where(
            lower, damping * LESS, np.maximum(damping * MORE, FIRST_DAMPING)
        )
        again = self._failed[rows] < ATTEMPTS
        return np.where(lower, ~enough & (self._left[rows] > 0), again)

    def _at(self, rows: Rows, vectors: Array) -> _Points:
        noise_voltage = self._noise_voltage[rows]
        model, slope = current_of(
            self._strings.rows(rows), vectors, self._voltage[rows], noise_voltage
        )
        spread = np.sqrt(self._noise_current[rows] ** 2 + (slope * noise_voltage) ** 2)
        residual = (self._current[rows] - model) / spread
        residual *= self._counts[rows]
        residual = _held_back(residual)
        cost = np.einsum("ij,ij->i", residual, residual)
        penalty = np.einsum("ij,ij->i", self._weight[rows], (vectors - self._centre[rows]) ** 2)
        return _Points(model, spread, residual, cost, cost + penalty)

    def _look_ahead(self, rows: Rows, vectors: Array, trial: _Points, which: Rows) -> None:
        """The slopes where descents have come to."""
        model, spread, residual = trial.model[which], trial.spread[which], trial.residual[which]
        slopes = slopes_of(self._strings.rows(rows), vectors, model)
        per_volt = np.minimum(-1.0 / (slopes.by_current * spread), 1.0 / self._noise_voltage[rows])
        per_volt *= self._counts[rows]
        jacobian = slopes.by_parameter
        jacobian *= per_volt[:, None, :]
        jacobian[~self._free[rows]] = 0.0
        normal = jacobian @ jacobian.transpose(0, 2, 1)
        weight = self._weight[rows]
        _diagonal(normal)[...] += weight
        gradient = (jacobian @ residual[:, :, None])[:, :, 0]
        gradient -= weight * (vectors - self._centre[rows])
        self._normal[rows], self._gradient[rows] = normal, gradient
        ahead = _Slopes(model, per_volt, jacobian, normal, gradient)
        for k, row in enumerate(rows.tolist()):
            self._going[row].ahead, self._going[row].row = ahead, k

    def _step(self, rows: Rows) -> tuple[Array, Flags]:
        """The step between the limits that lowers the squares most, and whether it is worth it.

        Where a limit holds a parameter, the others move on.
        """
        free, vector = self._free[rows], self._vector[rows]
        normal, gradient = self._normal[rows], self._gradient[rows]
        damped = normal.copy()
        _diagonal(damped)[...] *= 1.0 + self._damping[rows, None]
        _diagonal(damped)[~free] = 1.0
        step = _solved(damped, gradient)
        low, high = self._low - vector, self._high - vector
        held = free & ((step < low) | (step > high))
        some = np.flatnonzero(held.any(axis=1))
        if some.size:
            stays, bound = held[some], np.clip(step[some], low[some], high[some]) * held[some]
            rest = damped[some]
            pull = gradient[some] - (rest @ bound[:, :, None])[:, :, 0]
            rest[stays[:, :, None] | stays[:, None, :]] = 0.0
            _diagonal(rest)[stays] = 1.0
            pull[stays] = bound[stays]
            step[some] = np.clip(_solved(rest, pull), low[some], high[some])
        longest = np.max(np.abs(step) / self._most, axis=1, keepdims=True)
        step /= np.maximum(longest, 1.0)
        promise = np.einsum("ij,ij->i", step, 2.0 * gradient - (normal @ step[:, :, None])[:, :, 0])
        least = np.where(self._failed[rows] > 0, PROMISE_AGAIN, PROMISE)
        return step, promise >= least * (self._total[rows] + PROMISE_POINTS)

    def _end(self, row: int) -> tuple[int, Fit]:
        going = self._going.pop(row)
        self._unused.append(row)
        asked, ahead, k = going.asked, going.ahead, going.row
        size, free = asked.sweep.voltage.size, asked.free
        vector = self._vector[row, : asked.start.size].copy()
        residual = going.residual[:size].copy()
        jacobian = ahead.jacobian[k, free, :size]
        off = (self._vector[row] - self._centre[row])[free]
        fit = Fit(
            vector=vector,
            present=asked.present,
            cost=float(self._cost[row]),
            penalty=float(self._total[row] - self._cost[row]),
            residual=residual,
            free=free,
            normal=ahead.normal[k][np.ix_(free, free)],
            jacobian=jacobian,
            gradient=jacobian @ residual - self._weight[row, free] * off,
            model=ahead.model[k, :size].copy(),
            per_volt=ahead.per_volt[k, :size].copy(),
        )
        return going.ticket, fit


_NOTHING = np.empty(0)
_NO_SLOPES = _Slopes(_NOTHING, _NOTHING, _NOTHING, _NOTHING, _NOTHING)
"""Of a descent that has no point yet; it takes its first one in the same turn."""


def _diagonal(matrices: Array) -> Array:
    """The diagonals of matrices (k, p, p) as a view (k, p)."""
    return np.einsum("ijj->ij", matrices)


def _solved(matrices: Array, sides: Array) -> Array:
    return np.asarray(np.linalg.solve(matrices, sides[:, :, None])[:, :, 0], dtype=np.float64)


def _held_back(residual: Array) -> Array:
    """Residuals with outliers so that their squares grow in proportion only."""
    size = np.abs(residual)
    far = size > OUTLIER
    if not far.any():
        return residual
    kept = np.sqrt(OUTLIER * (2.0 * np.maximum(size, OUTLIER) - OUTLIER))
    return np.where(far, np.sign(residual) * kept, residual)

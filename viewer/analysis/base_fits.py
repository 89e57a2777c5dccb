"""Many sweeps fitted at once as predicted: scaled, shifted, with resistance, leak and knee.

Most strings are sound, and for them this fit is most of the work. It is the descent of
string_descent.py without stairs, for all sweeps side by side: arrays have a row for each sweep
and are filled up to the longest with points of no weight. A sweep's result does not depend on
the others beside it.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from viewer.analysis.reduced_string import (
    CURRENT,
    KNEE,
    LEAK,
    OFFSETS,
    SERIES,
    SHARES_OF_CURRENT,
    SHIFT,
    STRING_PARAMETERS,
    TABLE_VOLTAGES,
    Reference,
    start_vector,
)
from viewer.analysis.signature_fit import BASE, Fit, Prior, Sweep, free_places, limits
from viewer.analysis.string_descent import (
    ENOUGH,
    ENOUGH_POINTS,
    PROMISE,
    PROMISE_POINTS,
    held_back,
)

Array = NDArray[np.float64]
Flags = NDArray[np.bool_]

TRIES = 30
"""Steps taken or refused before a sweep is left where it is."""
APART = 1000.0
"""Rows are laid so far apart on one axis that one interpolation serves them all."""
FARTHEST_CURRENT = 400.0
_FAR_BELOW = np.array([-12.0, -6.0, -2.5, -1.0, -0.4, -0.2])
"""Shares of the current for voltages above the prediction, where a sweep may have points."""
_SHARES = np.concatenate((_FAR_BELOW, SHARES_OF_CURRENT))
_OFFSETS = np.concatenate((np.zeros(_FAR_BELOW.size), OFFSETS))


@dataclass(frozen=True, eq=False)
class SweepToFit:
    """A sweep with its prediction and where its fit starts; `present` is the share of groups."""

    reference: Reference
    sweep: Sweep
    start: Array
    present: float


class _Rows:
    """The sweeps' constants as columns (k, 1) and points as rows (k, n)."""

    def __init__(self, given: Sequence[SweepToFit]) -> None:
        def column(values: list[float]) -> Array:
            return np.array(values)[:, None]

        references = [one.reference for one in given]
        sweeps = [one.sweep for one in given]
        self.thermal = column([r.thermal for r in references])
        self.saturation = column([r.saturation for r in references])
        self.conductance = column([r.conductance for r in references])
        self.series = column([r.series for r in references])
        self.floor = -column([r.bypass_drop for r in references])
        self.table = np.array([r.table for r in references])
        self.present = column([one.present for one in given])
        self.noise_voltage = column([s.noise_voltage for s in sweeps])
        self.noise_current = column([s.noise_current for s in sweeps])
        self.sizes = np.array([s.voltage.size for s in sweeps])
        places = np.arange(self.sizes.max())
        self.weight = (places < self.sizes[:, None]).astype(np.float64)
        self.voltage = np.array([np.resize(s.voltage, places.size) for s in sweeps])
        self.current = np.array([np.resize(s.current, places.size) for s in sweeps])

    def of(self, kept: Flags) -> "_Rows":
        """Those rows only."""
        part = object.__new__(_Rows)
        for name, value in vars(self).items():
            setattr(part, name, value[kept])
        return part


def _interpolated(at: Array, points: Array, values: Array) -> Array:
    """Row by row as numpy.interp; `points` (k, m) rise along each row."""
    apart = APART * np.arange(at.shape[0])[:, None]
    flat = np.interp((at + apart).ravel(), (points + apart).ravel(), values.ravel())
    return flat.reshape(at.shape)


def _diode_voltage(rows: _Rows, net: Array, leak: Array) -> Array:
    table = np.clip(rows.table + leak * TABLE_VOLTAGES, -FARTHEST_CURRENT, FARTHEST_CURRENT)
    values = np.broadcast_to(TABLE_VOLTAGES, table.shape)
    return _interpolated(np.clip(net, -FARTHEST_CURRENT, FARTHEST_CURRENT), table, values)


def _parts(vectors: Array) -> list[Array]:
    return [vectors[:, place : place + 1] for place in (CURRENT, SHIFT, SERIES, LEAK, KNEE)]


@dataclass(frozen=True, eq=False)
class _Points:
    """Where each descent is; as in string_descent."""

    vectors: Array
    model: Array
    spread: Array
    residual: Array
    off: Array
    cost: Array
    total: Array

    def of(self, kept: Flags) -> "_Points":
        return _Points(*(value[kept] for value in vars(self).values()))


class _Descents:
    def __init__(self, prior: Prior) -> None:
        self.centre, self.width = prior.of(start_vector())
        self.free = free_places(BASE, 0)
        self.prior_weight = 1.0 / self.width[self.free] ** 2
        self.low, self.high = limits(0)

    def at(self, rows: _Rows, vectors: Array) -> _Points:
        c, shift, series, leak, knee = _parts(vectors)
        grid = np.sort(c * _SHARES + _OFFSETS, axis=1)
        drop = rows.series * grid - (shift - knee)
        diode = _diode_voltage(rows, c - grid, leak)
        volts = rows.present * np.maximum((1.0 + knee) * diode - drop, rows.floor) - series * grid
        reach = rows.voltage + rows.noise_voltage, rows.voltage - rows.noise_voltage
        high, low = (_interpolated(v, volts[:, ::-1], grid[:, ::-1]) for v in reach)
        model = 0.5 * (low + high)
        slope = (high - low) / (2.0 * rows.noise_voltage)
        spread = np.sqrt(rows.noise_current**2 + (slope * rows.noise_voltage) ** 2)
        residual = held_back((rows.current - model) / spread) * rows.weight
        off = (vectors - self.centre)[:, self.free]
        cost = np.einsum("ij,ij->i", residual, residual)
        total = cost + off**2 @ self.prior_weight
        return _Points(vectors, model, spread, residual, off, cost, total)

    def slopes(self, rows: _Rows, points: _Points) -> tuple[Array, Array, Array, Array]:
        """per_volt (k, n), Jacobian (k, f, n), normal matrix (k, f, f), gradient (k, f)."""
        c, shift, series, leak, knee = _parts(points.vectors)
        diode = _diode_voltage(rows, c - points.model, leak)
        growth = np.exp(diode / rows.thermal) * (rows.saturation / rows.thermal)
        growth += rows.conductance + leak
        volts = (1.0 + knee) * diode - rows.series * points.model + (shift - knee)
        on = rows.present * (volts > rows.floor)
        by_diode = (1.0 + knee) * on / growth
        by_current = np.minimum(-by_diode - series - rows.series * on, -1e-6)
        per_volt = np.minimum(-1.0 / (by_current * points.spread), 1.0 / rows.noise_voltage)
        per_volt *= rows.weight
        jacobian = np.empty((c.size, len(BASE), points.model.shape[1]))
        jacobian[:, CURRENT] = by_diode
        jacobian[:, SHIFT] = on
        jacobian[:, SERIES] = -points.model
        jacobian[:, LEAK] = -by_diode * diode
        jacobian[:, KNEE] = on * (diode - 1.0)
        jacobian *= per_volt[:, None, :]
        normal = jacobian @ jacobian.transpose(0, 2, 1)
        places = np.arange(self.free.size)
        normal[:, places, places] += self.prior_weight
        gradient = (jacobian @ points.residual[:, :, None])[:, :, 0]
        return per_volt, jacobian, normal, gradient - self.prior_weight * points.off

    def stepped(self, points: _Points, normal: Array, gradient: Array, damping: Array) -> Array:
        """Vectors a step further; where a limit holds one of them, the others move on."""
        places = np.arange(self.free.size)
        damped = normal.copy()
        damped[:, places, places] *= 1.0 + damping[:, None]
        low = self.low[self.free] - points.vectors[:, self.free]
        high = self.high[self.free] - points.vectors[:, self.free]
        step = np.linalg.solve(damped, gradient[:, :, None])[:, :, 0]
        held = (step < low) | (step > high)
        bound = np.clip(step, low, high)
        for row in np.flatnonzero(held.any(axis=1) & ~held.all(axis=1)):
            stays, moves = held[row], ~held[row]
            left = gradient[row, moves] - damped[row][np.ix_(moves, stays)] @ bound[row, stays]
            solved = np.linalg.solve(damped[row][np.ix_(moves, moves)], left)
            bound[row, moves] = np.clip(solved, low[row, moves], high[row, moves])
        return bound


def fit_all_as_predicted(given: Sequence[SweepToFit], prior: Prior) -> list[Fit]:
    """The fit of each sweep, in their order."""
    if not given:
        return []
    descents, everything = _Descents(prior), _Rows(given)
    vectors = np.clip(np.array([one.start for one in given]), descents.low, descents.high)
    active = np.ones(len(given), dtype=bool)
    damping = np.full(len(given), 1e-3)
    rows = everything
    points = descents.at(rows, vectors)
    for _ in range(TRIES):
        _, _, normal, gradient = descents.slopes(rows, points)
        step = descents.stepped(points, normal, gradient, damping[active])
        promise = np.einsum(
            "ij,ij->i", step, 2.0 * gradient - np.einsum("ijk,ik->ij", normal, step)
        )
        trial_vectors = points.vectors.copy()
        trial_vectors[:, descents.free] += step
        trial = descents.at(rows, trial_vectors)
        lower = trial.total < points.total
        gained = points.total - trial.total
        idle = promise < PROMISE * (points.total + PROMISE_POINTS)
        ended = idle | (lower & (gained < ENOUGH * points.total + ENOUGH_POINTS))
        taken = lower & ~idle
        number = np.flatnonzero(active)
        vectors[number[taken]] = trial.vectors[taken]
        damping[number] = np.where(lower, damping[number] * 0.2, damping[number] * 8.0)
        active[number[ended]] = False
        if ended.all():
            break
        rows = rows.of(~ended)
        points = _Points(
            *(
                np.where(_as_column(taken, new), new, old)[~ended]
                for new, old in zip(vars(trial).values(), vars(points).values(), strict=True)
            )
        )
    return _fits(descents, everything, vectors)


def _as_column(flags: Flags, like: Array) -> Flags:
    return flags.reshape(-1, *(1,) * (like.ndim - 1))


def _fits(descents: _Descents, rows: _Rows, vectors: Array) -> list[Fit]:
    points = descents.at(rows, vectors)
    per_volt, jacobian, normal, gradient = descents.slopes(rows, points)
    return [
        Fit(
            vector=vectors[k, :STRING_PARAMETERS].copy(),
            present=float(rows.present[k, 0]),
            cost=float(points.cost[k]),
            penalty=float(points.total[k] - points.cost[k]),
            residual=points.residual[k, :size],
            free=descents.free,
            normal=normal[k],
            gradient=gradient[k],
            jacobian=jacobian[k, :, :size],
            model=points.model[k, :size],
            per_volt=per_volt[k, :size],
        )
        for k, size in enumerate(rows.sizes)
    ]

"""Levenberg and Marquardt's method for many sweeps at once, with errors in both variables.

Each measured point has a place of its own on the curve (its diode voltage x), which is
improved together with the five unknowns and eliminated from the normal equations, so that
noise in voltage and in current both count and neither biases the fit.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from viewer.physics.curve_fit.scaled_diode import (
    LOG_A,
    PointState,
    R,
    column,
    deviation,
    evaluate,
    sensitivities,
    spread,
)
from viewer.physics.curve_fit.sweep_batch import SweepBatch, rows_of

Array = NDArray[np.float64]
Mask = NDArray[np.bool_]

EXACT = 0.0
LOWEST = np.array([0.0, -0.5, -12.0, np.log(0.004), 0.0])
HIGHEST = np.array([5.0, 5.0, 6.0, np.log(0.8), 1.5])


@dataclass(frozen=True, eq=False)
class Approach:
    """`unknowns` (sweeps, 5); the points of the curve next to the measured ones; `deviation` and
    its `spread` there.
    """

    unknowns: Array
    state: PointState
    deviation: Array
    spread: Array
    voltage_share: Array
    converged: Mask

    @property
    def normalised(self) -> Array:
        """Deviations in units of the current noise, equal in spread over the sweep."""
        return self.deviation / self.spread


@dataclass(frozen=True, eq=False)
class LeastSquares(Approach):
    """With the inverse normal matrix (sweeps, 5, 5) of the unknowns for unit noise."""

    inverse: Array


@dataclass(eq=False)
class _Trial:
    unknowns: Array
    state: PointState
    deviation: Array
    spread: Array
    merit: Array


def fit(
    batch: SweepBatch,
    start: Array,
    voltage_share: Array,
    free: Mask | None = None,
    x: Array | None = None,
    most_steps: int = 60,
    precision: float = EXACT,
) -> LeastSquares:
    """The best unknowns for each sweep, from `start` (sweeps, 5).

    voltage_share: (sweeps, 1), standard deviation of the voltages over that of the currents, in
    the batch's units. free: (sweeps, 5), False for unknowns that keep their start. x: diode
    voltages of the points to start from. precision: stop when the sum of squares falls by less
    than this share of itself; EXACT goes on until rounding stops it.
    """
    free = np.ones(start.shape, dtype=bool) if free is None else free
    found = approach(batch, start, voltage_share, free, x, most_steps, precision)
    return LeastSquares(**vars(found), inverse=_inverse(batch, found, free))


def approach(
    batch: SweepBatch,
    start: Array,
    voltage_share: Array,
    free: Mask | None = None,
    x: Array | None = None,
    most_steps: int = 60,
    precision: float = EXACT,
) -> Approach:
    """The same without the inverse, which a fit that only prepares another does not need."""
    free = np.ones(start.shape, dtype=bool) if free is None else free
    unknowns = np.clip(start, LOWEST, HIGHEST)
    rough = x is None
    if x is None:
        x = batch.voltage + batch.current * column(unknowns, R)
    now = _trial(batch, unknowns, x, voltage_share)
    for _ in range(_FIRST_MOVES):
        now = _trial(batch, unknowns, now.state.x + _move(batch, now, voltage_share), voltage_share)
    damping = np.full(len(batch), 1e-3 if rough else _LIGHT_DAMPING)
    quiet = np.zeros(len(batch), dtype=np.int64)
    exact = precision == EXACT
    enough = 2 if exact else 1
    active = np.arange(len(batch))
    for _ in range(most_steps):
        everyone = active.size == len(batch)
        part = batch if everyone else rows_of(batch, active)
        here = now if everyone else rows_of(now, active)
        share = voltage_share[active]
        part_damping = damping[active]
        there, expected = _step(part, here, share, part_damping, free[active])
        gain = here.merit - there.merit
        better = gain >= 0
        settled = np.abs(gain) <= max(precision, 1e-10) * here.merit
        if everyone and better.all():
            now = there
        else:
            _keep(now, active[better], there, better)
        damping[active] = np.where(
            better, np.maximum(damping[active] * 0.1, 1e-12), np.minimum(damping[active] * 8, 1e8)
        )
        small = (expected < 1e-9) | (damping[active] >= 1e8)
        if exact:
            small |= better & settled & (expected < 1e-7)
        else:
            small |= settled & (part_damping <= _LIGHT_DAMPING)
        quiet[active] = np.where(small, quiet[active] + 1, 0)
        active = active[quiet[active] < enough]
        if active.size == 0:
            break
    return Approach(
        now.unknowns, now.state, now.deviation, now.spread, voltage_share, quiet >= enough
    )


def _trial(batch: SweepBatch, unknowns: Array, x: Array, share: Array) -> _Trial:
    state = evaluate(unknowns, x)
    above = deviation(state, batch)
    width = spread(state, share)
    z = above / width
    z *= batch.used
    return _Trial(unknowns, state, above, width, np.einsum("np,np->n", z, z))


def _normal(batch: SweepBatch, here: _Trial | Approach, free: Mask) -> tuple[Array, Array, Array]:
    """Normal matrix and right side, with fixed unknowns and those held at a bound taken out."""
    slopes = sensitivities(here.unknowns, here.state)
    weight = batch.used / here.spread
    scaled = slopes * weight[:, None, :]
    matrix = scaled @ scaled.swapaxes(1, 2)
    right = (scaled @ (here.deviation * weight)[:, :, None])[..., 0]
    held = ~free
    held |= (here.unknowns <= LOWEST) & (right < 0)
    held |= (here.unknowns >= HIGHEST) & (right > 0)
    if held.any():
        loose = ~held
        matrix = matrix * (loose[:, :, None] & loose[:, None, :])
        right = right * loose
        rows, unknown = np.nonzero(held)
        matrix[rows, unknown, unknown] = 1.0
    return matrix, right, slopes


def _step(
    batch: SweepBatch, here: _Trial, share: Array, damping: Array, free: Mask
) -> tuple[_Trial, Array]:
    """The trial after one step, and how far the step goes (the largest change, of order one)."""
    matrix, right, slopes = _normal(batch, here, free)
    diagonal = np.maximum(matrix[:, range(5), range(5)], 1e-14)
    scale = 1.0 / np.sqrt(diagonal)
    normal = matrix * scale[:, :, None] * scale[:, None, :]
    normal[:, range(5), range(5)] = 1.0 + damping[:, None] + 1e-13
    change = np.linalg.solve(normal, (right * scale)[..., None])[..., 0] * scale
    change = np.clip(change, -_LONGEST_STEP, _LONGEST_STEP)
    unknowns = np.clip(here.unknowns + change, LOWEST, HIGHEST)
    change = unknowns - here.unknowns
    x = here.state.x + _move_along(batch, here, share, change, slopes)
    return _trial(batch, unknowns, x, share), np.max(np.abs(change), axis=1)


_FIRST_MOVES = 2
_LIGHT_DAMPING = 1e-6
"""So light that even the direction the points hardly determine is followed at once."""
_LONGEST_STEP = np.array([0.5, 0.5, 1.5, 0.5, 0.3])


def _move_along(
    batch: SweepBatch, here: _Trial, share: Array, change: Array, slopes: Array
) -> Array:
    """How far each point's place on the curve moves to stay the nearest to the measured point."""
    di = np.einsum("nkp,nk->np", slopes[:, :R], change[:, :R])
    dv = -column(here.unknowns, R) * di - column(change, R) * here.state.current
    return _move(batch, here, share, dv, di)


def _move(
    batch: SweepBatch, here: _Trial, share: Array, dv: Array | float = 0.0, di: Array | float = 0.0
) -> Array:
    """The same when the curve at each place moves by `dv` and `di`."""
    state = here.state
    to_v = (batch.voltage - state.voltage - dv) * state.stretch
    to_i = (state.current + di - batch.current) * (state.conductance * share**2)
    move = (to_v + to_i) / here.spread**2
    limit = 2.0 * np.exp(column(here.unknowns, LOG_A))
    return np.clip(move, -limit, limit)


def _keep(now: _Trial, rows: NDArray[np.int64], there: _Trial, better: Mask) -> None:
    """Write the successful trials into `now` (its arrays are changed in place)."""
    now.unknowns[rows] = there.unknowns[better]
    now.deviation[rows] = there.deviation[better]
    now.spread[rows] = there.spread[better]
    now.merit[rows] = there.merit[better]
    for name in ("x", "current", "voltage", "diode", "diode_at_zero", "conductance", "stretch"):
        getattr(now.state, name)[rows] = getattr(there.state, name)[better]


def _inverse(batch: SweepBatch, now: Approach, free: Mask) -> Array:
    matrix, _, _ = _normal(batch, now, free)
    held = np.abs(matrix).sum(axis=2) == 1.0
    inverse = symmetric_inverse(matrix)
    rows, unknown = np.nonzero(
        held & (~free | (now.unknowns <= LOWEST) | (now.unknowns >= HIGHEST))
    )
    inverse[rows, unknown, unknown] = 0.0
    return inverse


def symmetric_inverse(matrix: Array) -> Array:
    """Inverse of normal matrices (..., k, k) after scaling their diagonals to one."""
    k = matrix.shape[-1]
    scale = 1.0 / np.sqrt(np.maximum(matrix[..., range(k), range(k)], 1e-300))
    normal = matrix * scale[..., :, None] * scale[..., None, :]
    normal[..., range(k), range(k)] += 1e-14
    return np.linalg.inv(normal) * scale[..., :, None] * scale[..., None, :]

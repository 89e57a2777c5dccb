"""Solves a string's circuit at given currents, or at given voltages.

Newton's method (see `newton_step`) from a good guess, all points at once; steps are shortened
where the exponential or the avalanche term would overshoot. The few points that circle instead
of settling are solved again with a line search.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from viewer.physics.cell_string.circuit import Circuit
from viewer.physics.cell_string.line_search import solve_carefully
from viewer.physics.cell_string.newton_step import Step, newton_step

Array = NDArray[np.float64]
Mask = NDArray[np.bool_]

TOLERANCE = 1e-9
"""Of the largest photocurrent: how well each element must carry its path's current."""

MOST_STEPS = 40
"""Points not settled by then may be circling; they are solved with a line search instead."""

SETTLED_STEPS = 2
COMPRESS_BELOW = 0.6
"""Points that are done are set aside when the others are fewer than this share."""


@dataclass(frozen=True, eq=False)
class Solution:
    """A solved circuit; columns are points.

    diode_voltage (elements, points), path_current (paths, points) of one path of its kind,
    group_voltage (groups, points), voltage and current (points,) of the whole string.
    """

    circuit: Circuit
    diode_voltage: Array
    path_current: Array
    group_voltage: Array
    voltage: Array
    current: Array


def _limited(circuit: Circuit, ceiling: Array, vd: Array, change: Array) -> tuple[Array, Mask]:
    """The next diode voltages, and per point whether any step had to be shortened."""
    a = circuit.nNsVth
    old = vd / a
    new = old + change / a
    top = np.maximum(old, ceiling)
    over = new > top + 1.0
    shortened: Mask = np.asarray(over.any(axis=0))
    if shortened.any():
        with np.errstate(invalid="ignore"):
            new = np.where(over, top + np.log1p(new - top), new)
    out = new * a
    rows = circuit.breaking
    if len(rows):
        edge = circuit.breakdown_voltage[rows]
        before = 1.0 - vd[rows] / edge
        after = 1.0 - out[rows] / edge
        floor = 0.25 * np.minimum(before, 1.0)
        beyond = after < floor
        if beyond.any():
            out[rows] = np.where(beyond, edge * (1.0 - floor), out[rows])
            shortened = shortened | beyond.any(axis=0)
    return out, shortened


def first_guess(circuit: Circuit, current: Array) -> Array:
    """Diode voltages to begin with at those string currents, shape (elements, points).

    Each path carries at most the photocurrent of its poorest cell; the bypass takes the rest.
    """
    c = circuit
    poorest = np.minimum.reduceat(
        np.where(c.is_cell[:, None], c.photocurrent, np.inf), c.path_start, axis=0
    )
    able = np.where(np.isfinite(poorest), poorest, 0.0) * c.path_count
    group_able = np.add.reduceat(able, c.group_start, axis=0)
    carried = np.minimum(current, group_able)
    with np.errstate(divide="ignore", invalid="ignore"):
        share = np.where(group_able > 0, carried / group_able, 0.0)
    in_path = (able / c.path_count * share[c.group_of_path])[c.path_of_element]
    spare = np.maximum(c.photocurrent - in_path, 0.0)
    excess = np.maximum(current - carried, 0.0)[c.group_of_path][c.path_of_element]
    junction = np.where(c.is_cell[:, None], spare, excess)
    size = np.maximum(np.abs(c.saturation_current), 1e-300)
    ahead = c.nNsVth * np.log1p(junction / size)
    ohmic = np.where(c.is_cell[:, None], spare / c.conductance, -excess / c.conductance)
    return np.where(np.abs(ahead) < np.abs(ohmic), ahead, ohmic)


def solve(
    circuit: Circuit,
    guess: Array,
    current: Array | None = None,
    voltage: Array | None = None,
) -> Solution:
    """The circuit at string currents [A] or at voltages [V], shape (points,); give one of them.

    `guess` holds diode voltages to begin with, shape (elements, points). Raises RuntimeError
    if Newton's method does not settle.
    """
    if (current is None) == (voltage is None):
        raise ValueError("give either currents or voltages")
    by_current = current is not None
    asked = np.asarray(current if by_current else voltage, dtype=float)
    scale = max(float(circuit.photocurrent.max()), 1e-3)
    if by_current:
        scale = max(scale, float(np.abs(asked).max(initial=0.0)))
    out, left = _iterate(circuit, guess, asked, by_current, scale)
    if len(left):
        vd, step = solve_carefully(circuit, asked[left], by_current, TOLERANCE * scale)
        _keep(out, left, vd, step, np.ones(len(left), dtype=bool))
    return out


def _iterate(
    circuit: Circuit, guess: Array, asked: Array, by_current: bool, scale: float
) -> tuple[Solution, NDArray[np.int64]]:
    """Newton's method, and the points that had not settled when it was stopped."""
    ceiling = _ceiling(circuit, scale)
    out = _empty(circuit, len(asked))
    active, vd = np.arange(len(asked)), guess
    settled = np.zeros(len(asked), dtype=np.int64)
    step = newton_step(circuit, vd, asked, by_current)
    for _ in range(MOST_STEPS):
        vd, shortened = _limited(circuit, ceiling, vd, step.change)
        near = (step.miss <= TOLERANCE * scale) & ~shortened
        settled = np.where(near, settled + 1, 0)
        done = settled >= SETTLED_STEPS
        if done.all():
            break
        if done.sum() > (1.0 - COMPRESS_BELOW) * len(active):
            _keep(out, active[done], vd[:, done], step, done)
            left = ~done
            active, vd, asked, settled = active[left], vd[:, left], asked[left], settled[left]
        step = newton_step(circuit, vd, asked, by_current)
    _keep(out, active, vd, step, np.ones(len(active), dtype=bool))
    return out, active[settled < SETTLED_STEPS]


def _ceiling(circuit: Circuit, scale: float) -> Array:
    """Diode voltage over nNsVth that no element passes by much, shape (elements, 1)."""
    size = np.maximum(np.abs(circuit.saturation_current), 1e-300)
    return np.log1p(np.where(circuit.is_cell[:, None], circuit.photocurrent, scale) / size)


def _empty(circuit: Circuit, points: int) -> Solution:
    return Solution(
        circuit,
        np.empty((len(circuit.count), points)),
        np.empty((len(circuit.path_start), points)),
        np.empty((circuit.groups, points)),
        np.empty(points),
        np.empty(points),
    )


def _keep(
    out: Solution,
    at: NDArray[np.int64],
    vd: Array,
    step: Step,
    columns: Mask,
) -> None:
    """Write points of a step into the solution."""
    out.diode_voltage[:, at] = vd
    out.path_current[:, at] = step.path_current[:, columns]
    out.group_voltage[:, at] = step.group_voltage[:, columns]
    out.voltage[at] = step.voltage[columns]
    out.current[at] = step.current[columns]

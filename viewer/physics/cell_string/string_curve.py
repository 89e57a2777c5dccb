"""The I-V curve of a string of cells, its voltage at given currents and the other way round."""

import numpy as np
from numpy.typing import ArrayLike, NDArray

from viewer.physics.cell_string.cells import CellString
from viewer.physics.cell_string.circuit import Circuit, lumped
from viewer.physics.cell_string.newton import Solution, first_guess, solve

Array = NDArray[np.float64]

COARSE_POINTS = 24
MANY_KINDS = 8
AROUND_A_STAIR = (0.96, 0.99, 0.9985, 1.004, 1.03)
"""Currents looked at around what a group can carry, as shares of it."""


def voltage_at(string: CellString, current: ArrayLike) -> Array:
    """Voltage [V] of the string at those currents [A], any shape; negative where it is driven.

    Raises RuntimeError if the circuit cannot be solved.
    """
    asked = np.asarray(current, dtype=float)
    circuit = lumped(string)
    return at_currents(circuit, asked.ravel()).voltage.reshape(asked.shape)


def current_at(string: CellString, voltage: ArrayLike) -> Array:
    """Current [A] of the string at those voltages [V], any shape; negative beyond open circuit.

    Raises RuntimeError if the circuit cannot be solved.
    """
    asked = np.asarray(voltage, dtype=float)
    circuit = lumped(string)
    return at_voltages(circuit, asked.ravel()).current.reshape(asked.shape)


def curve(string: CellString, points: int = 200) -> tuple[Array, Array]:
    """Voltage [V] from 0 to open circuit and current [A], both of shape (points,).

    Points are spaced evenly along the curve, so that knees and stairs are drawn well.
    """
    solution = solved_curve(string, points)
    return solution.voltage, solution.current


def solved_curve(string: CellString, points: int = 200) -> Solution:
    """The curve with everything inside the string at each of its points."""
    circuit = lumped(string)
    coarse = coarse_curve(circuit)
    return _at(circuit, coarse, _evenly_along(coarse, points))


def at_currents(circuit: Circuit, current: Array) -> Solution:
    """The circuit solved at currents [A] of shape (points,)."""
    return solve(circuit, first_guess(circuit, current), current=current)


def at_voltages(circuit: Circuit, voltage: Array) -> Solution:
    """The circuit solved at voltages [V] of shape (points,)."""
    return _at(circuit, coarse_curve(circuit), voltage)


def coarse_curve(circuit: Circuit) -> Solution:
    """A few points from open circuit to below 0 V, closer where a stair may be."""
    c = circuit
    strongest = np.maximum.reduceat(c.photocurrent, c.path_start, axis=0)
    able = np.add.reduceat(strongest * c.path_count, c.group_start, axis=0)[:, 0]
    top = max(float(able.max()) * 1.02, 1e-6)
    if c.groups > MANY_KINDS:
        currents = np.linspace(0.0, top, 3 * COARSE_POINTS)
    else:
        poorest = np.where(c.is_cell[:, None], c.photocurrent, np.inf)
        least = np.minimum.reduceat(poorest, c.path_start, axis=0)
        least = np.where(np.isfinite(least), least, 0.0) * c.path_count
        stairs = np.add.reduceat(least, c.group_start, axis=0)[:, 0]
        stairs = np.unique(np.concatenate([stairs, able]))
        near = np.outer(stairs, AROUND_A_STAIR).ravel()
        currents = np.union1d(np.linspace(0.0, top, COARSE_POINTS), near[near < top])
    return at_currents(c, currents)


def _at(circuit: Circuit, coarse: Solution, voltage: Array) -> Solution:
    """Solve at voltages, beginning between the points of the coarse curve."""
    known = coarse.voltage[::-1]
    place = np.clip(np.searchsorted(known, voltage), 1, len(known) - 1)
    span = np.maximum(known[place] - known[place - 1], 1e-12)
    share = np.clip((voltage - known[place - 1]) / span, 0.0, 1.0)
    inner = coarse.diode_voltage[:, ::-1]
    guess = inner[:, place - 1] * (1.0 - share) + inner[:, place] * share
    return solve(circuit, guess, voltage=voltage)


def _evenly_along(coarse: Solution, points: int) -> Array:
    """Voltages from 0 to open circuit, evenly spaced along the curve as one would draw it."""
    voltage, current = coarse.voltage[::-1], coarse.current[::-1]
    first = max(int(np.searchsorted(voltage, 0.0)), 1)
    v = np.concatenate([[0.0], voltage[first:]])
    i = np.concatenate([[np.interp(0.0, voltage, current)], current[first:]])
    right, down = np.diff(v) / max(v[-1], 1e-12), np.diff(i) / max(i[0], 1e-12)
    along = np.cumsum(np.concatenate([[0.0], np.hypot(right, down)]))
    return np.interp(np.linspace(0.0, along[-1], points), along, v)

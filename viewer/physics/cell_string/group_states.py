"""What every bypass group and every cell does at each point of a solved curve.

Limits without a source are judgement.
"""

from dataclasses import dataclass
from enum import IntEnum

import numpy as np
from numpy.typing import NDArray

from viewer.physics.cell_string.newton import Solution

Array = NDArray[np.float64]
Index = NDArray[np.int64]

BYPASS_SHARE = 0.02
"""A group counts as bypassed from this share of the largest photocurrent in its bypass on."""

REVERSE_VOLTAGE = -0.1
"""A cell counts as reverse-biased below this voltage [V]: nearer zero it hardly warms."""


class GroupState(IntEnum):
    """What a bypass group does at one current."""

    CONDUCTING = 0
    """Its cells carry the string's current forward."""
    BYPASSED = 1
    """Its bypass diode, or a short circuit there, carries current past its cells."""
    REVERSE = 2
    """At least one cell is driven backwards and no bypass current relieves it."""


@dataclass(frozen=True, eq=False)
class GroupStates:
    """States of the kinds of groups, arrays of shape (kinds, points).

    `group_kind` says for each block of the string which kind each group is, shape
    (modules, groups). voltage [V] across the group, bypass_current [A], state (`GroupState`),
    hottest_cell_power [W] is what the most heavily loaded cell of the group turns into heat
    beyond its light (below zero while it delivers), reverse_cells counts its cells in reverse.
    """

    group_kind: tuple[Index, ...]
    voltage: Array
    bypass_current: Array
    state: Index
    hottest_cell_power: Array
    reverse_cells: Index

    def over_string(self, values: NDArray[np.generic], point: int) -> tuple[NDArray, ...]:
        """Values of shape (kinds, points) at one point, laid out per block (modules, groups)."""
        return tuple(values[kind, point] for kind in self.group_kind)


def group_states(solution: Solution) -> GroupStates:
    """What each kind of bypass group does at each point of the solution."""
    c = solution.circuit
    carried = solution.path_current[c.path_of_element]
    voltage = solution.diode_voltage - _resistance(solution) * carried
    cell = c.is_cell[:, None]
    element_start = c.path_start[c.group_start]
    heat = np.where(cell, -voltage * carried, -np.inf)
    reverse = np.where(cell & (voltage < REVERSE_VOLTAGE), c.count, 0.0)
    paths_of = c.path_count[c.path_of_element]
    beside = np.where(c.is_cell[c.path_start][:, None], 0.0, solution.path_current)
    bypass = np.add.reduceat(beside, c.group_start, axis=0)
    backward = np.add.reduceat(reverse * paths_of, element_start, axis=0).astype(np.int64)
    state = np.where(backward > 0, GroupState.REVERSE, GroupState.CONDUCTING)
    enough = BYPASS_SHARE * float(c.photocurrent.max())
    state = np.where(np.abs(bypass) > enough, GroupState.BYPASSED, state)
    return GroupStates(
        c.group_kind,
        solution.group_voltage,
        bypass,
        state.astype(np.int64),
        np.maximum.reduceat(heat, element_start, axis=0),
        backward,
    )


def cell_voltages(solution: Solution, point: int) -> tuple[Array, ...]:
    """Voltage [V] of every cell at one point, per block, (modules, groups, paths, cells)."""
    carried = solution.path_current[solution.circuit.path_of_element, point]
    resistance = _resistance(solution)[:, 0]
    return _spread_out(solution, solution.diode_voltage[:, point] - resistance * carried)


def cell_heat(solution: Solution, point: int) -> tuple[Array, ...]:
    """Power [W] every cell turns into heat beyond its light, per block, at one point.

    Below zero for a cell that delivers; the shape is (modules, groups, paths, cells).
    """
    carried = solution.path_current[solution.circuit.path_of_element, point]
    voltage = solution.diode_voltage[:, point] - _resistance(solution)[:, 0] * carried
    return _spread_out(solution, -voltage * carried)


def _resistance(solution: Solution) -> Array:
    return solution.circuit.resistance_series


def _spread_out(solution: Solution, of_element: Array) -> tuple[Array, ...]:
    """Values of elements laid out over all cells of the string."""
    c = solution.circuit
    kinds = [np.stack([of_element[path] for path in paths]) for paths in c.cell_element]
    return tuple(
        np.stack([[kinds[k] for k in row] for row in index.tolist()]) for index in c.group_kind
    )

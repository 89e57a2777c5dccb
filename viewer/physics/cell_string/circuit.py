"""A string reduced to its different parts: what is alike is solved once.

Bypass groups that are alike are one kind with a count; so are parallel paths in a group and
cells in a path. The parts are kept as flat arrays: elements (kinds of cells, or a bypass diode)
sorted by path, paths sorted by group, with the index at which each path and group begins.

A bypass diode is an element like a cell, without light and with saturation current and nNsVth
below zero: -I0 (exp(V / a) - 1) with both signs turned is a diode that conducts the other way.
A short circuit is an element with a conductance and nothing else.
"""

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from viewer.physics.cell_string.cells import BypassState, CellBlock, CellString

Array = NDArray[np.float64]
Index = NDArray[np.int64]

LEAST_CONDUCTANCE = 1e-9
"""Across every junction, S: keeps the equations regular and moves no current that matters."""


class _Element(NamedTuple):
    in_series: int
    photocurrent: float
    saturation_current: float
    resistance_series: float
    conductance: float
    nNsVth: float  # noqa: N815 (pvlib's spelling)
    breakdown_conductance: float
    breakdown_voltage: float
    breakdown_exponent: float


@dataclass(frozen=True, eq=False)
class Circuit:
    """Element arrays of shape (elements, 1), path arrays (paths, 1), group arrays (groups, 1)."""

    photocurrent: Array
    saturation_current: Array
    resistance_series: Array
    conductance: Array
    nNsVth: Array  # noqa: N815 (pvlib's spelling)
    breakdown_conductance: Array
    breakdown_voltage: Array
    breakdown_exponent: Array
    count: Array
    """Cells of this kind in series in the path."""
    breaking: Index
    """Elements with an avalanche term."""
    path_start: Index
    path_of_element: Index
    path_resistance: Array
    path_count: Array
    """Parallel paths of this kind in the group."""
    group_start: Index
    group_of_path: Index
    group_count: Array
    """Groups of this kind in the string."""
    is_cell: NDArray[np.bool_]
    """Per element: a cell, not a bypass diode or a short circuit."""
    resistance: float
    group_kind: tuple[Index, ...]
    """For each block the kind of every group, shape (modules, groups)."""
    cell_element: tuple[tuple[Index, ...], ...]
    """For each kind of group, for each path of the string's: the element of every cell."""

    @property
    def groups(self) -> int:
        return len(self.group_count)


def lumped(string: CellString) -> Circuit:
    """The string's different parts and how often each occurs."""
    kinds: dict[bytes, int] = {}
    parts: list[tuple[CellBlock, int, int]] = []
    group_kind = []
    for block in string.blocks:
        cells = np.stack(_cell_arrays(block), axis=-1)
        extra = repr((block.diode, block.breakdown)).encode()
        modules, groups = block.bypass.shape
        index = np.empty((modules, groups), dtype=np.int64)
        for m in range(modules):
            for g in range(groups):
                name = cells[m, g].tobytes() + bytes([int(block.bypass[m, g])]) + extra
                kind = kinds.setdefault(name, len(kinds))
                if kind == len(parts):
                    parts.append((block, m, g))
                index[m, g] = kind
        group_kind.append(index)
    counts = np.bincount(np.concatenate([k.ravel() for k in group_kind]), minlength=len(parts))
    return _assembled(parts, counts, string.resistance, tuple(group_kind))


def _cell_arrays(block: CellBlock) -> tuple[Array, ...]:
    return (
        block.photocurrent,
        block.saturation_current,
        block.resistance_series,
        block.resistance_shunt,
        block.nNsVth,
    )


def _path_elements(block: CellBlock, m: int, g: int, p: int) -> tuple[list[_Element], Index]:
    """The kinds of cells in one path and which kind each cell is."""
    table = np.stack([values[m, g, p] for values in _cell_arrays(block)], axis=-1)
    if (table == table[0]).all():
        kinds, member, counts = table[:1], np.zeros(len(table), np.int64), np.array([len(table)])
    else:
        kinds, member, counts = np.unique(table, axis=0, return_inverse=True, return_counts=True)
    out = []
    for row, count in zip(kinds.tolist(), counts.tolist(), strict=True):
        il, i0, rs, rsh, a = row
        g_shunt = 1.0 / rsh
        avalanche = block.breakdown.factor * g_shunt
        out.append(
            _Element(
                count,
                il,
                i0,
                rs,
                g_shunt + LEAST_CONDUCTANCE,
                a,
                avalanche,
                block.breakdown.voltage,
                block.breakdown.exponent,
            )
        )
    return out, np.asarray(member, dtype=np.int64).reshape(-1)


def _bypass_element(block: CellBlock, state: BypassState) -> _Element | None:
    diode = block.diode
    if state == BypassState.GOOD:
        i0, a = -diode.saturation_current, -diode.nNsVth
        return _Element(1, 0.0, i0, diode.resistance, LEAST_CONDUCTANCE, a, 0.0, -1.0, 1.0)
    if state == BypassState.SHORT:
        conductance = 1.0 / diode.short_resistance
        return _Element(1, 0.0, 0.0, 0.0, conductance, 1.0, 0.0, -1.0, 1.0)
    return None


def _assembled(
    parts: list[tuple[CellBlock, int, int]],
    counts: Index,
    resistance: float,
    group_kind: tuple[Index, ...],
) -> Circuit:
    elements: list[_Element] = []
    is_cell: list[bool] = []
    path_start: list[int] = []
    path_count: list[int] = []
    group_start: list[int] = []
    cell_element = []
    for block, m, g in parts:
        group_start.append(len(path_start))
        seen: dict[tuple[_Element, ...], int] = {}
        members = []
        for p in range(block.shape[2]):
            kinds, member = _path_elements(block, m, g, p)
            path = seen.get(tuple(kinds))
            if path is None:
                path = seen[tuple(kinds)] = len(path_start)
                path_start.append(len(elements))
                path_count.append(0)
                elements += kinds
                is_cell += [True] * len(kinds)
            path_count[path] += 1
            members.append(path_start[path] + member)
        bypass = _bypass_element(block, BypassState(int(block.bypass[m, g])))
        if bypass is not None:
            path_start.append(len(elements))
            path_count.append(1)
            elements.append(bypass)
            is_cell.append(False)
        cell_element.append(tuple(members))
    columns = [np.array(c, dtype=float)[:, None] for c in zip(*elements, strict=True)]
    count, il, i0, rs, g_shunt, a, avalanche, v_break, exponent = columns
    starts = np.array(path_start)
    groups = np.array(group_start)
    return Circuit(
        photocurrent=il,
        saturation_current=i0,
        resistance_series=rs,
        conductance=g_shunt,
        nNsVth=a,
        breakdown_conductance=avalanche,
        breakdown_voltage=v_break,
        breakdown_exponent=exponent,
        count=count,
        breaking=np.flatnonzero(avalanche[:, 0] > 0),
        path_start=starts,
        path_of_element=np.repeat(
            np.arange(len(starts)), np.diff(np.append(starts, len(elements)))
        ),
        path_resistance=np.add.reduceat(count * rs, starts, axis=0),
        path_count=np.array(path_count, dtype=float)[:, None],
        group_start=groups,
        group_of_path=np.repeat(np.arange(len(groups)), np.diff(np.append(groups, len(starts)))),
        group_count=np.asarray(counts, dtype=float)[:, None],
        is_cell=np.array(is_cell),
        resistance=resistance,
        group_kind=group_kind,
        cell_element=tuple(cell_element),
    )

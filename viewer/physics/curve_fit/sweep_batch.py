"""Sweeps of different lengths as one block of arrays, in units of their own size.

Row j of a block is one sweep: voltage in units of its open-circuit voltage (about), current in
units of its largest current (about), filled up at the end with points that do not count.
"""

from collections.abc import Sequence
from dataclasses import dataclass, fields
from typing import TYPE_CHECKING, Any, TypeVar

import numpy as np
from numpy.typing import NDArray

if TYPE_CHECKING:
    from _typeshed import DataclassInstance

Record = TypeVar("Record", bound="DataclassInstance")

Array = NDArray[np.float64]
Mask = NDArray[np.bool_]
Sweep = tuple[Array, Array]
"""Voltage [V] and current [A], sorted by rising voltage."""


@dataclass(frozen=True, eq=False)
class SweepBatch:
    """`voltage`, `current`, `used`: (sweeps, points); `v_unit` [V], `i_unit` [A]: (sweeps, 1)."""

    voltage: Array
    current: Array
    used: Mask
    v_unit: Array
    i_unit: Array

    @classmethod
    def of(cls, sweeps: Sequence[Sweep]) -> "SweepBatch":
        """From clean sweeps (see sweep_cleaning) of at least one point each."""
        longest = max(v.size for v, _ in sweeps)
        voltage = np.empty((len(sweeps), longest))
        current = np.empty_like(voltage)
        used = np.zeros(voltage.shape, dtype=bool)
        for row, (v, i) in enumerate(sweeps):
            voltage[row, : v.size], voltage[row, v.size :] = v, v[-1]
            current[row, : v.size], current[row, v.size :] = i, i[-1]
            used[row, : v.size] = True
        v_unit, i_unit = _units(voltage, current)
        return cls(voltage / v_unit, current / i_unit, used, v_unit, i_unit)

    def __len__(self) -> int:
        return len(self.voltage)

    @property
    def count(self) -> NDArray[np.int64]:
        """Points of each sweep that count."""
        return np.count_nonzero(self.used, axis=1)

    def only(self, used: Mask) -> "SweepBatch":
        """The same sweeps with fewer points that count."""
        return SweepBatch(self.voltage, self.current, used, self.v_unit, self.i_unit)


def rows_of(record: Record, index: NDArray[np.int64] | Mask) -> Record:
    """A record of arrays, all with one row a sweep, with some of the rows.

    Records inside it are treated likewise.
    """
    chosen: dict[str, Any] = {}
    for field in fields(record):
        value = getattr(record, field.name)
        inner = not isinstance(value, np.ndarray)
        chosen[field.name] = rows_of(value, index) if inner else value[index]
    return type(record)(**chosen)


def with_rows(record: Record, index: NDArray[np.int64], part: Record) -> Record:
    """The record with the rows at `index` taken from `part`."""
    changed: dict[str, Any] = {}
    for field in fields(record):
        value, new = getattr(record, field.name), getattr(part, field.name)
        if isinstance(value, np.ndarray):
            changed[field.name] = value.copy()
            changed[field.name][index] = new
        else:
            changed[field.name] = with_rows(value, index, new)
    return type(record)(**changed)


def blocks_of_similar_length(
    sweeps: Sequence[Sweep], points_a_block: int = 36_000
) -> list[NDArray[np.int64]]:
    """Positions of the sweeps, grouped so that a block wastes little and fits the cache."""
    order = np.argsort([v.size for v, _ in sweeps], kind="stable")
    blocks: list[NDArray[np.int64]] = []
    start = 0
    for stop in range(1, len(order) + 1):
        if stop < len(order):
            longest, shortest = sweeps[order[stop]][0].size, sweeps[order[start]][0].size
            full = longest * (stop - start + 1) > points_a_block
            if not full and longest <= 1.8 * shortest + 8:
                continue
        blocks.append(order[start:stop])
        start = stop
    return blocks


def _units(voltage: Array, current: Array) -> tuple[Array, Array]:
    """About Voc and about Isc of each row; only the order of magnitude matters."""
    i_unit = np.max(np.abs(current), axis=1, keepdims=True)
    positive = np.where(current > 0.02 * i_unit, voltage, -np.inf)
    v_unit = np.max(positive, axis=1, keepdims=True)
    v_largest = np.max(np.abs(voltage), axis=1, keepdims=True)
    v_unit = np.where(v_unit > 0.05 * v_largest, v_unit, v_largest)
    return np.where(v_unit > 0, v_unit, 1.0), np.where(i_unit > 0, i_unit, 1.0)

"""The make-up of a string: every cell with its own parameters, every bypass group its diode.

Modules of one make-up stand in a `CellBlock`, whose arrays have the shape
(modules, groups, paths, cells): module from the positive end on, bypass group in the module,
path in the group (two in a half-cut module, both under the one bypass diode), cell in the path.
A `CellString` is one or more blocks in series behind the resistance of cable and connectors.
"""

from dataclasses import dataclass, field, replace
from enum import IntEnum

import numpy as np
from numpy.typing import ArrayLike, NDArray

from viewer.physics.single_diode import DiodeParameters

Array = NDArray[np.float64]


class BypassState(IntEnum):
    """What a bypass diode is: as made, a short circuit, or open."""

    GOOD = 0
    SHORT = 1
    OPEN = 2


@dataclass(frozen=True)
class BypassDiode:
    """A bypass diode that passes 1 A at `drop` [V] and obeys Shockley's equation.

    nNsVth [V]: diode factor times thermal voltage; resistance [ohm] of diode and leads;
    short_resistance [ohm] is left when it has failed to a short circuit. The starting values
    are those of a Schottky diode in a warm junction box (common practice, no source).
    """

    drop: float = 0.38
    nNsVth: float = 0.030  # noqa: N815 (pvlib's spelling)
    resistance: float = 0.005
    short_resistance: float = 0.005

    @property
    def saturation_current(self) -> float:
        return float(1.0 / np.expm1(self.drop / self.nNsVth))


@dataclass(frozen=True)
class ReverseBreakdown:
    """The avalanche term of Bishop (Solar Cells 25 (1988) 73-89).

    It multiplies the shunt's current by 1 + factor (1 - V / voltage)^-exponent, V being the
    diode voltage and `voltage` [V] below zero. A factor of zero leaves the term out.
    """

    factor: float = 2e-3
    voltage: float = -16.0
    exponent: float = 3.0

    def __post_init__(self) -> None:
        if self.voltage >= 0 or self.factor < 0:
            raise ValueError("a cell breaks down at a voltage below zero, by a factor not below it")


@dataclass(frozen=True, eq=False)
class CellBlock:
    """Modules in series that are wired alike; each array has one value a cell [A, ohm, V].

    `bypass` has the shape (modules, groups) and holds `BypassState` values.
    """

    photocurrent: Array
    saturation_current: Array
    resistance_series: Array
    resistance_shunt: Array
    nNsVth: Array  # noqa: N815 (pvlib's spelling)
    bypass: NDArray[np.int64]
    diode: BypassDiode = field(default_factory=BypassDiode)
    breakdown: ReverseBreakdown = field(default_factory=ReverseBreakdown)

    @property
    def shape(self) -> tuple[int, int, int, int]:
        """Modules, groups, paths, cells in a path of one group."""
        modules, groups, paths, cells = self.photocurrent.shape
        return modules, groups, paths, cells

    def __getitem__(self, modules: NDArray[np.bool_]) -> "CellBlock":
        """The block with a selection of its modules."""
        return replace(
            self,
            photocurrent=self.photocurrent[modules],
            saturation_current=self.saturation_current[modules],
            resistance_series=self.resistance_series[modules],
            resistance_shunt=self.resistance_shunt[modules],
            nNsVth=self.nNsVth[modules],
            bypass=self.bypass[modules],
        )

    @classmethod
    def from_modules(
        cls,
        modules: DiodeParameters,
        wiring: "ModuleWiring",
        diode: BypassDiode | None = None,
        breakdown: ReverseBreakdown | None = None,
    ) -> "CellBlock":
        """From parameters of whole modules, one or an array that broadcasts to the cells' shape.

        Parameters of shape (modules, 1, 1, 1) give each module equal cells; of shape
        (modules, groups, paths, cells) what a module made of such cells would have.
        """
        count, paths = wiring.cells_in_series, wiring.parallel_paths
        shape = np.broadcast_shapes(np.shape(modules.photocurrent), (1, *wiring.shape))
        values = (
            modules.photocurrent / paths,
            modules.saturation_current / paths,
            modules.resistance_series * (paths / count),
            modules.resistance_shunt * (paths / count),
            modules.nNsVth / count,
        )
        il, i0, rs, rsh, a = (np.broadcast_to(np.asarray(v, dtype=float), shape) for v in values)
        return cls(
            il,
            i0,
            rs,
            rsh,
            a,
            np.zeros(shape[:2], dtype=np.int64),
            diode=diode or BypassDiode(),
            breakdown=breakdown or ReverseBreakdown(),
        )

    def with_bypass(self, modules: ArrayLike, groups: ArrayLike, state: BypassState) -> "CellBlock":
        """The same with those diodes (indices that broadcast) in another state."""
        bypass = self.bypass.copy()
        bypass[np.asarray(modules), np.asarray(groups)] = state
        return replace(self, bypass=bypass)

    def with_shunts(self, resistance: ArrayLike) -> "CellBlock":
        """The same with a resistance [ohm] across each cell; infinite where there is none."""
        with np.errstate(divide="ignore"):
            total = 1.0 / (1.0 / self.resistance_shunt + 1.0 / np.asarray(resistance, dtype=float))
        return replace(self, resistance_shunt=np.broadcast_to(total, self.shape))

    def in_light(self, share: ArrayLike) -> "CellBlock":
        """The same with each cell's photocurrent multiplied by `share`."""
        light = self.photocurrent * np.asarray(share, dtype=float)
        return replace(self, photocurrent=np.broadcast_to(light, self.shape))


@dataclass(frozen=True)
class ModuleWiring:
    """How a module's cells are wired: cells_in_series along one path, as the datasheet says."""

    cells_in_series: int
    parallel_paths: int = 1
    bypass_groups: int = 3

    def __post_init__(self) -> None:
        if min(self.cells_in_series, self.parallel_paths, self.bypass_groups) < 1:
            raise ValueError("a module has at least one cell, one path and one bypass group")
        if self.cells_in_series % self.bypass_groups:
            raise ValueError(
                f"{self.cells_in_series} cells in series do not divide into "
                f"{self.bypass_groups} equal bypass groups: correct the datasheet's "
                "cells_in_series or bypass_diodes"
            )

    @property
    def shape(self) -> tuple[int, int, int]:
        """Groups, paths, cells in a path of one group."""
        return (
            self.bypass_groups,
            self.parallel_paths,
            self.cells_in_series // self.bypass_groups,
        )


def groups_that_divide(cells_in_series: int, wished: int) -> int:
    """The largest number of equal bypass groups, `wished` at most, that the cells divide into."""
    return max(n for n in range(1, max(wished, 1) + 1) if cells_in_series % n == 0)


@dataclass(frozen=True, eq=False)
class CellString:
    """Blocks in series, positive end first, behind `resistance` [ohm] of cable and connectors."""

    blocks: tuple[CellBlock, ...]
    resistance: float = 0.0

    @property
    def modules(self) -> int:
        return sum(block.shape[0] for block in self.blocks)

"""A string whose every cell is its own, as it is before faults are put in, and its curve."""

from collections.abc import Hashable
from dataclasses import dataclass

import numpy as np

from tests.uneven_strings.cells import BOLTZMANN_OVER_CHARGE, Breakdown, Cell, parameters_at
from tests.uneven_strings.circumstances import Circumstances
from tests.uneven_strings.module_types import BYPASS_DIODES, ModuleType
from tests.uneven_strings.string_of_cells import (
    BypassDiode,
    Curve,
    group_curve,
    series_curve,
    shorted_curve,
)

BIN_EDGE = 2.5
"""Modules and cells beyond so many standard deviations were sorted out at the factory."""
RATING_SPREAD = 0.005
VOLTAGE_RATING_SPREAD = 0.002
"""How far the whole delivery is from its datasheet, as shares of current and voltage."""
SATURATION_SPREAD = 0.08
REVERSE_RESISTANCE = {"multi-Si": (12.0, 80.0)}
OTHER_REVERSE_RESISTANCE = (25.0, 200.0)
"""Range of a cell's shunt when driven backwards [ohm]; judgement."""
BYPASS_EMISSION = 1.1
BYPASS_RESISTANCE = 0.0045


@dataclass(frozen=True)
class Group:
    """What one bypass diode spans: its place, curve, and the current its least cells allow [A]."""

    module: int
    number: int
    curve: Curve
    limit: float


@dataclass(frozen=True)
class StringCurve:
    """The string's curve and its groups, modules that are missing left out."""

    curve: Curve
    groups: tuple[Group, ...]


class UnevenString:
    """`count` modules at one irradiance [W/m²] and mean cell temperature [°C].

    Arrays are by module, or by (module, group, path, cell). Faults change the attributes of the
    second half; `curve` then gives the string as it is.
    """

    def __init__(
        self,
        module: ModuleType,
        count: int,
        irradiance: float,
        temperature: float,
        circumstances: Circumstances,
        rng: np.random.Generator,
    ) -> None:
        self.rng = rng
        self.module, self.count = module, count
        self.irradiance, self.temperature = irradiance, temperature
        self.paths = module.paths
        self.cells_per_path = module.cells_in_series // BYPASS_DIODES
        self.draw_modules(circumstances)
        self.draw_cells(circumstances)
        self.draw_wiring(circumstances)
        self.light = np.ones_like(self.cell_current)
        self.cell_shunt = np.ones_like(self.cell_current)
        """Shares of what the cell would have without its fault."""
        self.module_current_left = np.ones(count)
        self.leak = np.full(count, np.inf)
        """Resistance beside each cell of a module [ohm]."""
        self.series_factor = 1.0
        self.saturation_factor = 1.0
        self.extra_resistance = 0.0
        self.shorted = np.zeros((count, BYPASS_DIODES), bool)
        self.missing = np.zeros(count, bool)
        self._computed: dict[Hashable, Group] = {}

    def draw_modules(self, circumstances: Circumstances) -> None:
        def binned() -> np.ndarray:
            return self.rng.standard_normal(self.count).clip(-BIN_EDGE, BIN_EDGE)

        current = 1 + self.rng.normal(0.0, RATING_SPREAD)
        self.module_current = current * (1 + circumstances.module_current_spread * binned())
        voltage = 1 + self.rng.normal(0, VOLTAGE_RATING_SPREAD)
        self.module_voltage = voltage + circumstances.module_voltage_spread * binned()
        spread = circumstances.module_temperature_spread
        self.module_temperature = self.temperature + spread * self.rng.standard_normal(self.count)

    def draw_cells(self, circumstances: Circumstances) -> None:
        shape = (self.count, BYPASS_DIODES, self.paths, self.cells_per_path)
        binned = self.rng.standard_normal(shape).clip(-BIN_EDGE, BIN_EDGE)
        current = 1 + circumstances.cell_current_spread * binned
        self.cell_current = current / current.mean(axis=3, keepdims=True)
        self.cell_saturation = np.exp(SATURATION_SPREAD * self.rng.standard_normal(shape))

    def draw_wiring(self, circumstances: Circumstances) -> None:
        """Cable, breakdown, bypass diodes, and how the cells leak when driven backwards."""
        rng = self.rng
        loads = self.count * self.module.load_resistance
        self.cable_resistance = loads * rng.uniform(0.0005, circumstances.cable_most)
        self.breakdown = Breakdown(
            voltage=rng.uniform(14, 24),
            factor=float(rng.choice([0.002, 0.01, 0.05])),
            exponent=rng.uniform(3, 4),
        )
        drop = rng.uniform(*circumstances.bypass_drop)
        # 273 and not 273.15: so the first sets were made, and a seed keeps its strings.
        thermal = BYPASS_EMISSION * BOLTZMANN_OVER_CHARGE * (self.temperature + 273)
        # The drop holds at 9 A, where the diode's resistance takes 0.04 V of it.
        saturation = 9.0 / np.expm1((drop - 0.04) / thermal)
        self.bypass = BypassDiode(BYPASS_EMISSION, saturation, BYPASS_RESISTANCE)
        self.reverse_as_forward = bool(rng.random() < circumstances.reverse_as_forward)
        low, high = REVERSE_RESISTANCE.get(self.module.technology, OTHER_REVERSE_RESISTANCE)
        middle = rng.uniform(np.log(low), np.log(high))
        shape = self.cell_current.shape
        self.resistance_reverse = np.exp(middle + 0.3 * rng.standard_normal(shape))

    @property
    def groups_in_all(self) -> int:
        return self.count * BYPASS_DIODES

    def is_limited(self, module: int, group: int) -> bool:
        """Whether a fault takes light from a cell of the group."""
        return bool(self.light[module, group].min() < 1)

    def free_groups(self) -> list[tuple[int, int]]:
        """(module, group) of each group that no fault touches, in the string's order."""
        return [
            (k, g)
            for k in range(self.count)
            for g in range(BYPASS_DIODES)
            if not self.missing[k] and not self.shorted[k, g] and not self.is_limited(k, g)
        ]

    def curve(self) -> StringCurve:
        most = parameters_at(self.module.row, self.irradiance, self.temperature).photocurrent
        groups = tuple(
            self.group(k, g, most)
            for k in range(self.count)
            for g in range(BYPASS_DIODES)
            if not self.missing[k]
        )
        resistance = self.cable_resistance + self.extra_resistance
        return StringCurve(series_curve([g.curve for g in groups], resistance, most), groups)

    def group(self, module: int, number: int, most: float) -> Group:
        """One group; computed anew only when a fault since then changed it."""
        key = (
            module,
            number,
            self.module_current_left[module],
            self.leak[module],
            self.series_factor,
            self.saturation_factor,
            self.light[module, number].tobytes(),
            self.cell_shunt[module, number].tobytes(),
            bool(self.shorted[module, number]),
        )
        if key not in self._computed:
            paths = self.cells(module, number)
            if self.shorted[module, number]:
                curve = shorted_curve(most)
            else:
                curve = group_curve(paths, self.bypass, self.module_temperature[module], most)
            limit = sum(min(cell.photocurrent for cell in cells) for cells in paths)
            self._computed[key] = Group(module, number, curve, limit)
        return self._computed[key]

    def cells(self, module: int, number: int) -> list[list[Cell]]:
        """The cells of one group, by path."""
        row, n = self.module.row, self.module.cells_in_series
        whole = parameters_at(row, self.irradiance, self.module_temperature[module])
        paths = self.paths
        current = whole.photocurrent / paths * self.module_current[module]
        current *= self.module_current_left[module]
        shift = (self.module_voltage[module] - 1) * row["V_oc_ref"] / whole.n_vth
        saturation = whole.saturation_current * np.exp(-shift) * self.saturation_factor / paths
        series = whole.resistance_series / n * paths * self.series_factor
        shunt = whole.resistance_shunt / n * paths
        leak = self.leak[module] * paths

        def cell(path: int, place: int) -> Cell:
            at = (module, number, path, place)
            reverse = self.resistance_reverse[at] * paths * self.cell_shunt[at]
            return Cell(
                photocurrent=current * self.cell_current[at] * self.light[at],
                saturation_current=saturation * self.cell_saturation[at],
                resistance_series=series,
                resistance_shunt=1 / (1 / (shunt * self.cell_shunt[at]) + 1 / leak),
                n_vth=whole.n_vth / n,
                breakdown=self.breakdown,
                resistance_reverse=None if self.reverse_as_forward else min(reverse, leak),
            )

        places = range(self.cells_per_path)
        return [[cell(path, place) for place in places] for path in range(paths)]

"""Curves of cells in series, of the paths beside a bypass diode, and of groups in series.

Everything is a table: cells and groups in series add their voltages at equal current, paths and
the bypass diode add their currents at equal voltage. No equal parts are lumped and no equation
is solved, so that nothing is shared with the solvers of the package.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from tests.uneven_strings.cells import BOLTZMANN_OVER_CHARGE, Array, Cell, cell_voltage

SHORTED_RESISTANCE = 0.01
"""A diode that failed as a short and its leads [ohm]; judgement."""
MOST_FORWARD = 1.6
"""Largest forward voltage of a bypass diode in the tables [V]."""
BYPASS_CURRENTS = np.concatenate([[0.0], np.geomspace(1e-7, 60, 260)])
NEAR_FIRST_LIMITS = 60
"""At most so many different groups get a finer grid around their own current."""


class Curve(NamedTuple):
    """Current [A], ascending, and voltage [V] at each, descending."""

    current: Array
    voltage: Array

    @property
    def i_sc(self) -> float:
        return float(np.interp(0.0, self.voltage[::-1], self.current[::-1]))

    @property
    def p_mp(self) -> float:
        """Greatest power of the table [W]."""
        return float(np.max(self.current * self.voltage))


@dataclass(frozen=True)
class BypassDiode:
    """A diode by emission coefficient, saturation current [A] and series resistance [ohm]."""

    emission: float
    saturation_current: float
    resistance: float

    def forward_voltage(self, current: Array, temperature: float) -> Array:
        """Forward voltage [V] at each forward current [A] and at °C."""
        thermal = self.emission * BOLTZMANN_OVER_CHARGE * (temperature + 273.15)
        return thermal * np.log1p(current / self.saturation_current) + current * self.resistance


def path_curve(cells: Sequence[Cell], top: float) -> Curve:
    """Cells in series up to the current `top` [A], finer where the least of them limits."""
    least = min(cell.photocurrent for cell in cells)
    current = np.unique(
        np.concatenate(
            [
                np.linspace(-0.04 * top, top, 500),
                least * np.linspace(0.9, 1.05, 350),
                least * np.linspace(0.985, 1.005, 200),
            ]
        )
    )
    voltage = np.zeros_like(current)
    for cell in cells:
        voltage += cell_voltage(cell, current)
    return Curve(current, voltage)


def group_curve(
    paths: Sequence[Sequence[Cell]], bypass: BypassDiode, temperature: float, most: float
) -> Curve:
    """Paths beside each other and their bypass diode at °C; `most` is the module's Isc [A]."""
    parts = [path_curve(cells, most * 1.5 / len(paths)) for cells in paths]
    voltage = np.unique(
        np.concatenate(
            [np.linspace(-MOST_FORWARD, 0.0, 400)] + [v[v > 0] for v in (p.voltage for p in parts)]
        )
    )
    current = np.zeros_like(voltage)
    for part in parts:
        current += np.interp(voltage, part.voltage[::-1], part.current[::-1])
    drop = bypass.forward_voltage(BYPASS_CURRENTS, temperature)
    current += np.interp(-voltage, drop, BYPASS_CURRENTS)
    return Curve(current[::-1], voltage[::-1])


def shorted_curve(most: float) -> Curve:
    """A group whose bypass diode is a short: only its resistance is left."""
    current = np.linspace(-0.1 * most, 3 * most, 5)
    return Curve(current, -current * SHORTED_RESISTANCE)


def series_curve(groups: Sequence[Curve], resistance: float, most: float) -> Curve:
    """Groups in series behind a resistance [ohm], finer around each group's own Isc."""
    limits = np.unique(np.round([group.i_sc for group in groups], 3))[:NEAR_FIRST_LIMITS]
    current = np.unique(
        np.concatenate(
            [
                np.linspace(-0.01 * most, 1.08 * most, 1600),
                np.linspace(0.86 * most, 1.06 * most, 1600),
            ]
            + [limit * np.linspace(0.98, 1.02, 60) for limit in limits]
        )
    )
    voltage = -current * resistance
    for group in groups:
        voltage = voltage + np.interp(current, group.current, group.voltage)
    return Curve(current, voltage)

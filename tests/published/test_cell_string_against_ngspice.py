"""Strings of cells against ngspice, the circuit simulator (https://ngspice.sourceforge.io).

The circuit is written by tests/spice/string_deck.py cell by cell from its own numbers; target:
within 0.1 % of Isc at every voltage.
"""

import numpy as np
import pytest

from tests.spice.string_deck import Cells, Group, ngspice_path, sweep
from viewer.physics.cell_string.cells import (
    BypassDiode,
    BypassState,
    CellBlock,
    CellString,
    ModuleWiring,
    ReverseBreakdown,
)
from viewer.physics.cell_string.string_curve import current_at, voltage_at
from viewer.physics.single_diode import DiodeParameters

pytestmark = pytest.mark.skipif(ngspice_path() is None, reason="ngspice is not installed")

MODULE = (9.2, 5e-9, 0.24, 900.0, 2.15)
DIODE = BypassDiode(drop=0.4, nNsVth=0.0281, resistance=0.003, short_resistance=0.01)
BREAKDOWN = ReverseBreakdown(factor=3e-3, voltage=-14.0, exponent=3.3)
MODULES = 8
CABLE = 0.35


def healthy(paths: int) -> CellBlock:
    one = DiodeParameters.of(*(np.full((MODULES, 1, 1, 1), x) for x in MODULE))
    return CellBlock.from_modules(one, ModuleWiring(72, paths, 3), DIODE, BREAKDOWN)


def one_cell(paths: int, light: float = 1.0, shunt: float = np.inf) -> Cells:
    il, i0, rs, rsh, a = MODULE
    per_cell = rsh * paths / 72
    return Cells(
        count=1,
        photocurrent=il / paths * light,
        saturation_current=i0 / paths,
        resistance_series=rs * paths / 72,
        resistance_shunt=1 / (1 / per_cell + 1 / shunt),
        n_vth=a / 72,
        breakdown_factor=BREAKDOWN.factor,
        breakdown_voltage=BREAKDOWN.voltage,
        breakdown_exp=BREAKDOWN.exponent,
    )


def group(path_cells: list[list[Cells]], bypass: str = "good") -> Group:
    return Group(
        paths=tuple(tuple(cells) for cells in path_cells),
        bypass=bypass,
        bypass_saturation_current=DIODE.saturation_current,
        bypass_n_vth=DIODE.nNsVth,
        bypass_resistance=DIODE.resistance,
        short_resistance=DIODE.short_resistance,
    )


def sound(paths: int) -> Group:
    return group([[one_cell(paths)] * 24] * paths)


def compare(block: CellBlock, groups: list[Group]) -> None:
    """Both ways at once: our current at ngspice's voltages, our voltage at its currents."""
    voltage, current = sweep(groups, 8 * 46.0, 150, CABLE)
    string = CellString((block,), CABLE)
    i_sc = current[0]
    np.testing.assert_allclose(current_at(string, voltage), current, atol=1e-3 * i_sc, rtol=0)
    # Where the curve is steep the voltage is compared, where it is flat the current was.
    steep = (current > 0) & (current < 0.9 * i_sc)
    np.testing.assert_allclose(
        voltage_at(string, current[steep]), voltage[steep], atol=1e-3 * voltage[-1], rtol=0
    )


def test_healthy_string():
    compare(healthy(1), [sound(1)] * 24)


def test_group_with_shaded_cells_of_different_depth():
    light = np.ones((MODULES, 3, 1, 24))
    light[2, 1, 0, :2] = 0.35
    light[5, 0, 0, 3] = 0.8
    groups = [sound(1)] * 24
    groups[7] = group([[one_cell(1, 0.35)] * 2 + [one_cell(1)] * 22])
    groups[15] = group([[one_cell(1, 0.8)] + [one_cell(1)] * 23])
    compare(healthy(1).in_light(light), groups)


def test_shorted_and_open_bypass_diodes():
    light = np.ones((MODULES, 3, 1, 24))
    light[4, 2, 0, 0] = 0.5
    block = healthy(1).in_light(light)
    block = block.with_bypass(1, [0, 1], BypassState.SHORT).with_bypass(4, 2, BypassState.OPEN)
    groups = [sound(1)] * 24
    groups[3] = groups[4] = group([[one_cell(1)] * 24], "short")
    groups[14] = group([[one_cell(1, 0.5)] + [one_cell(1)] * 23], "open")
    compare(block, groups)


def test_shunted_cells():
    shunts = np.full((MODULES, 3, 1, 24), np.inf)
    shunts[6:, :, 0, :] = 0.6
    shunts[0, 0, 0, 5] = 0.05
    groups = [sound(1)] * 24
    groups[18:] = [group([[one_cell(1, shunt=0.6)] * 24])] * 6
    groups[0] = group([[one_cell(1, shunt=0.05)] + [one_cell(1)] * 23])
    compare(healthy(1).with_shunts(shunts), groups)


def test_half_cut_module_with_one_half_shaded_and_one_dead_half_cell():
    light = np.ones((MODULES, 3, 2, 24))
    light[1, :, 1, :] = 0.2
    light[4, 0, 0, 11] = 0.0
    groups = [sound(2)] * 24
    groups[3:6] = [group([[one_cell(2)] * 24, [one_cell(2, 0.2)] * 24])] * 3
    groups[12] = group([[one_cell(2, 0.0)] + [one_cell(2)] * 23, [one_cell(2)] * 24])
    compare(healthy(2).in_light(light), groups)

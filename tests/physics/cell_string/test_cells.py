import numpy as np
import pytest

from viewer.physics.cell_string.cells import (
    BypassState,
    CellBlock,
    CellString,
    ModuleWiring,
    ReverseBreakdown,
)
from viewer.physics.cell_string.circuit import lumped
from viewer.physics.single_diode import DiodeParameters


def modules(count=4, paths=1):
    one = DiodeParameters.of(*(np.full((count, 1, 1, 1), x) for x in (9.0, 5e-9, 0.24, 900.0, 2.1)))
    return CellBlock.from_modules(one, ModuleWiring(72, paths, 3))


def test_a_cell_gets_its_share_of_the_module():
    block = modules(paths=2)
    assert block.shape == (4, 3, 2, 24)
    assert block.photocurrent[0, 0, 0, 0] == pytest.approx(4.5)
    # 72 cells in series of two paths side by side make the module's 0.24 ohm again.
    assert block.resistance_series[0, 0, 0, 0] * 72 / 2 == pytest.approx(0.24)
    assert block.nNsVth[0, 0, 0, 0] * 72 == pytest.approx(2.1)


def test_cells_that_do_not_divide_into_groups_are_refused_in_words():
    with pytest.raises(ValueError, match="71 cells in series do not divide into 3"):
        ModuleWiring(71, 1, 3)


def test_a_breakdown_voltage_above_zero_is_refused():
    with pytest.raises(ValueError, match="below zero"):
        ReverseBreakdown(voltage=15.0)


def test_equal_parts_are_lumped_and_counted():
    light = np.ones((4, 3, 1, 24))
    light[1, 2, 0, 5] = 0.5
    block = modules().in_light(light).with_bypass([0, 0], [0, 1], BypassState.SHORT)
    circuit = lumped(CellString((block,)))
    assert sorted(circuit.group_count[:, 0]) == [1, 2, 9]
    shaded = circuit.cell_element[circuit.group_kind[0][1, 2]][0]
    assert len(set(shaded.tolist())) == 2
    assert circuit.photocurrent[shaded[5], 0] == pytest.approx(4.5)
    assert circuit.photocurrent[shaded[6], 0] == pytest.approx(9.0)


def test_equal_halves_of_a_half_cut_module_are_lumped():
    circuit = lumped(CellString((modules(paths=2),)))
    assert circuit.path_count[circuit.group_of_path == 0, 0].tolist() == [2, 1]
    assert len(circuit.count) == 2


def test_changes_leave_the_block_they_came_from_alone():
    block = modules()
    block.with_bypass(0, 0, BypassState.OPEN)
    block.in_light(0.5)
    assert not block.bypass.any()
    assert block.photocurrent.max() == 9.0

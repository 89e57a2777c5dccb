import numpy as np
import pytest

from viewer.physics.cell_string.cells import CellBlock, CellString, ModuleWiring
from viewer.physics.cell_string.module_spread import SpreadSize, drawn_spread, with_spread
from viewer.physics.cell_string.string_curve import voltage_at
from viewer.physics.single_diode import DiodeParameters


def test_the_same_seed_draws_the_same_modules():
    first, second, other = drawn_spread(20, 5), drawn_spread(20, 5), drawn_spread(20, 6)
    assert (first.current == second.current).all()
    assert not (first.current == other.current).any()


def test_the_draw_has_the_size_asked_for():
    spread = drawn_spread(4000, 1, SpreadSize(current=0.01, voltage=0.003))
    assert np.std(spread.current) == pytest.approx(0.01, rel=0.05)
    assert np.std(spread.voltage) == pytest.approx(0.003, rel=0.05)
    assert (spread.series > 0).all()
    assert (spread.shunt > 0).all()


def test_voltage_moves_by_the_factor_drawn():
    one = DiodeParameters.of(*(np.full((1, 1, 1, 1), x) for x in (9.0, 5e-9, 0.2, 1e6, 2.1)))
    block = CellBlock.from_modules(one, ModuleWiring(72, 1, 3))
    spread = drawn_spread(1, 3, SpreadSize(current=0.0, voltage=0.01, series=0.0, shunt=0.0))
    before = voltage_at(CellString((block,)), 0.0)
    after = voltage_at(CellString((with_spread(block, spread),)), 0.0)
    assert after / before == pytest.approx(spread.voltage[0], abs=2e-5)

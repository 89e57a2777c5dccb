from dataclasses import replace

import numpy as np
import pytest

from viewer.physics.cell_string.cells import (
    BypassState,
    CellBlock,
    CellString,
    ModuleWiring,
    ReverseBreakdown,
)
from viewer.physics.cell_string.line_search import solve_carefully
from viewer.physics.cell_string.newton import TOLERANCE
from viewer.physics.cell_string.parallel_strings import combined_curve
from viewer.physics.cell_string.string_curve import (
    current_at,
    curve,
    solved_curve,
    voltage_at,
)
from viewer.physics.single_diode import DiodeParameters


def modules(count=10, paths=1, values=(9.0, 5e-9, 0.24, 900.0, 2.1)):
    one = DiodeParameters.of(*(np.full((count, 1, 1, 1), x) for x in values))
    return CellBlock.from_modules(one, ModuleWiring(72, paths, 3))


def faulty(count=10, paths=2):
    light = np.ones((count, 3, paths, 24))
    light[1, 0] = 0.4
    light[2, 1, 0, :3] = [0.0, 0.3, 0.9]
    shunts = np.full(light.shape, np.inf)
    shunts[4:, :, :, :] = 2.0
    block = modules(count, paths).in_light(light).with_shunts(shunts)
    return block.with_bypass(5, 0, BypassState.SHORT).with_bypass(2, 1, BypassState.OPEN)


def wild_string(rng):
    """Anything goes: dark cells, steep and soft breakdown, shorts, open diodes, no shunts."""
    paths, count = int(rng.integers(1, 3)), int(rng.integers(1, 12))
    cells = int(rng.choice([12, 60, 72]))
    light_current, factor = 10 ** rng.uniform(-1, 1.2), rng.uniform(0.9, 2)
    a = factor * cells * 0.0257
    values = (
        light_current,
        light_current * np.exp(-0.6 * cells / a),
        rng.choice([0, 1e-3, 0.2, 2]) * cells / 72,
        10 ** rng.uniform(0.5, 6),
        a,
    )
    one = DiodeParameters.of(*(np.full((count, 1, 1, 1), x) for x in values))
    breakdown = ReverseBreakdown(
        rng.choice([0, 1e-4, 2e-3, 0.1]), -(10 ** rng.uniform(0.5, 1.7)), rng.uniform(1.5, 6)
    )
    block = CellBlock.from_modules(one, ModuleWiring(cells, paths, 3), breakdown=breakdown)
    light, shunts = np.ones(block.shape), np.full(block.shape, np.inf)
    for _ in range(rng.integers(0, 6)):
        some = slice(None) if rng.random() < 0.5 else slice(0, rng.integers(1, 3))
        at = (rng.integers(count), rng.integers(3), rng.integers(paths), some)
        light[at] *= rng.choice([0, 0.02, 0.5, 0.9, 0.99, rng.random()])
    for _ in range(rng.integers(0, 3)):
        at = (rng.integers(count), rng.integers(3), rng.integers(paths), slice(rng.integers(1, 4)))
        shunts[at] = 10 ** rng.uniform(-2, 1)
    block = block.in_light(light).with_shunts(shunts)
    for _ in range(rng.integers(0, 4)):
        state = BypassState(int(rng.integers(0, 3)))
        block = block.with_bypass(rng.integers(count), rng.integers(3), state)
    return CellString((block,), rng.choice([0, 0.5, 5])), light_current


def test_every_wild_string_is_solved_and_its_curve_falls():
    rng = np.random.default_rng(0)
    for _ in range(150):
        string, scale = wild_string(rng)
        voltage, current = curve(string, 80)
        assert (np.diff(voltage) >= 0).all()
        assert (np.diff(current) <= 1e-6 * scale).all()
        np.testing.assert_allclose(voltage_at(string, current), voltage, atol=1e-3 * voltage[-1])


def test_curve_runs_from_short_circuit_to_open_circuit():
    string = CellString((faulty(),), 0.4)
    voltage, current = curve(string, 90)
    assert voltage.shape == current.shape == (90,)
    assert voltage[0] == pytest.approx(0.0, abs=1e-9)
    assert current[-1] == pytest.approx(0.0, abs=1e-7)


def test_voltage_and_current_are_inverse_in_any_shape():
    string = CellString((faulty(),), 0.4)
    voltage = np.linspace(-2.0, 430.0, 24).reshape(2, 3, 4)
    current = current_at(string, voltage)
    assert current.shape == (2, 3, 4)
    np.testing.assert_allclose(voltage_at(string, current), voltage, atol=1e-5)


def test_the_order_of_modules_does_not_matter():
    block = faulty()
    turned = block[np.arange(10)[::-1]]
    current = np.linspace(0, 8.5, 30)
    np.testing.assert_allclose(
        voltage_at(CellString((turned,)), current), voltage_at(CellString((block,)), current)
    )


def test_a_string_in_two_blocks_is_the_same_string():
    block = faulty()
    parts = CellString((block[np.arange(10) < 4], block[np.arange(10) >= 4]), 0.3)
    current = np.linspace(0, 8.5, 30)
    np.testing.assert_allclose(
        voltage_at(parts, current), voltage_at(CellString((block,), 0.3), current)
    )


def test_lumping_changes_nothing():
    # A thousand-millionth of difference makes every cell a kind of its own.
    block = modules(2)
    marked = block.in_light(1.0 + 1e-9 * np.arange(np.prod(block.shape)).reshape(block.shape))
    current = np.linspace(0, 8.9, 20)
    np.testing.assert_allclose(
        voltage_at(CellString((marked,)), current),
        voltage_at(CellString((block,)), current),
        atol=1e-4,
    )


def test_resistance_takes_its_voltage():
    block, current = faulty(), np.linspace(0, 8, 9)
    without, with_it = CellString((block,)), CellString((block,), 2.5)
    np.testing.assert_allclose(
        voltage_at(with_it, current), voltage_at(without, current) - 2.5 * current
    )


def test_the_line_search_finds_what_plain_steps_find():
    solution = solved_curve(CellString((faulty(),), 0.4), 40)
    for by_current, asked in ((True, solution.current), (False, solution.voltage)):
        vd, step = solve_carefully(solution.circuit, asked, by_current, TOLERANCE * 9)
        np.testing.assert_allclose(step.current, solution.current, atol=1e-6)
        cells = solution.circuit.is_cell
        # Where a cell's voltage hardly moves the current it is not determined better.
        np.testing.assert_allclose(vd[cells], solution.diode_voltage[cells], atol=1e-3)


def test_a_dark_string_gives_nothing():
    block = modules(3).in_light(0.0)
    voltage, current = curve(CellString((block,)), 20)
    assert np.abs(voltage).max() < 1e-6
    assert np.abs(current).max() < 1e-6


def test_strings_in_parallel_add_their_currents():
    good, bad = CellString((modules(10),), 0.2), CellString((faulty(),), 0.2)
    voltage, total, each = combined_curve([good, good, bad], 60)
    np.testing.assert_allclose(total, 2 * current_at(good, voltage) + current_at(bad, voltage))
    assert each.shape == (3, 60)
    # The string with a shorted diode is fed backwards near the others' open circuit.
    assert each[2, -1] < 0
    with pytest.raises(ValueError, match="at least one string"):
        combined_curve([])


def test_more_light_never_gives_less_current():
    block = faulty()
    voltage = np.linspace(0, 420, 40)
    less = current_at(CellString((block,)), voltage)
    more = current_at(CellString((replace(block, photocurrent=block.photocurrent * 1.1),)), voltage)
    assert (more >= less - 1e-9).all()

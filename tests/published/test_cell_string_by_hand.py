"""Strings of cells against what can be worked out without the package.

- two cells in series, one half shaded, solved by hand from Kirchhoff's laws and Shockley's
  equation;
- the current in a bypass diode from Kirchhoff's current law;
- the reverse characteristic of J. W. Bishop, Computer simulation of the effects of electrical
  mismatches in photovoltaic cell interconnection circuits, Solar Cells 25 (1988) 73-89, as
  pvlib's `bishop88` computes it.
"""

import numpy as np
import pvlib
import pytest
from scipy.optimize import brentq

from viewer.physics.cell_string.cells import (
    BypassDiode,
    BypassState,
    CellBlock,
    CellString,
    ModuleWiring,
    ReverseBreakdown,
)
from viewer.physics.cell_string.circuit import lumped
from viewer.physics.cell_string.group_states import GroupState, cell_heat, group_states
from viewer.physics.cell_string.string_curve import (
    at_currents,
    at_voltages,
    current_at,
    voltage_at,
)
from viewer.physics.single_diode import DiodeParameters

NO_BREAKDOWN = ReverseBreakdown(factor=0.0)


def block(il, i0, rs, rsh, a, wiring, modules=1, **options):
    one = DiodeParameters.of(*(np.full((modules, 1, 1, 1), x) for x in (il, i0, rs, rsh, a)))
    return CellBlock.from_modules(one, wiring, **options)


def two_cells() -> CellBlock:
    """Two cells: 8 A and 4 A, saturation current 1 nA, nVth 25.7 mV, shunt 10 ohm each."""
    both = block(8.0, 1e-9, 0.0, 20.0, 0.0514, ModuleWiring(2, 1, 1), breakdown=NO_BREAKDOWN)
    return both.with_bypass(0, 0, BypassState.OPEN).in_light([1.0, 0.5])


def test_two_cells_in_series_at_short_circuit_by_hand():
    # The lit cell stands at +v, the shaded one at -v, and both carry I:
    #   I = 8 - 1e-9 (exp(v/0.0257) - 1) - v/10       lit
    #   I = 4 + 1e-9 (1 - exp(-v/0.0257)) + v/10      shaded
    # so 1e-9 exp(v/0.0257) = 4 - v/5: v = 0.0257 ln(4e9 - 2e8 v).
    # v = 0.567 gives 0.0257 ln(3.8866e9) = 0.0257 x 22.0808 = 0.5675; again: 0.5675.
    # I = 4 + 0.05675 = 4.0567 A and the shaded cell takes 0.5675 V x 4.0567 A = 2.302 W.
    solution = at_voltages(lumped(CellString((two_cells(),))), np.array([0.0]))
    assert solution.current[0] == pytest.approx(4.0567, abs=1e-4)
    (heat,) = cell_heat(solution, 0)
    assert heat[0, 0, 0, 1] == pytest.approx(2.302, abs=2e-3)
    assert heat[0, 0, 0, 0] == pytest.approx(-2.302, abs=2e-3)
    assert group_states(solution).state[0, 0] == GroupState.REVERSE


def test_two_cells_with_a_good_bypass_carry_the_lit_cells_current():
    # The diode passes what the shaded cell cannot: the lit cell is no longer held at 4 A. With
    # the diode clamping both cells together at -0.4 V or so, the shaded one takes the lit one's
    # voltage and the drop: about 1 V, not more.
    string = CellString(
        (two_cells().with_bypass(0, 0, BypassState.GOOD),),
    )
    solution = at_currents(lumped(string), np.array([7.5]))
    states = group_states(solution)
    assert states.state[0, 0] == GroupState.BYPASSED
    assert -0.50 < solution.voltage[0] < -0.35
    assert states.bypass_current[0, 0] == pytest.approx(7.5 - 4.0 - 0.1, abs=0.01)


def test_current_in_the_bypass_of_a_shaded_group_by_kirchhoff():
    il, i0, rsh, a = 9.0, 5e-9, 900.0, 2.15
    diode = BypassDiode(drop=0.4, nNsVth=0.028, resistance=0.0)
    string_current = 8.2
    made = block(
        il, i0, 0.0, rsh, a, ModuleWiring(72, 1, 3), modules=5, diode=diode, breakdown=NO_BREAKDOWN
    )
    light = np.ones(made.shape)
    light[2, 1] = 0.4
    solution = at_currents(lumped(CellString((made.in_light(light),))), np.array([string_current]))
    states = group_states(solution)

    def excess(drop):
        # 24 equal cells, each at -drop/24; the diode at +drop. Their currents add to the string's.
        v = -drop / 24
        cells = 0.4 * il - i0 * np.expm1(v / (a / 72)) - v / (rsh / 72)
        return cells + diode.saturation_current * np.expm1(drop / diode.nNsVth) - string_current

    drop = brentq(excess, 0.0, 1.0, xtol=1e-14)
    kind = states.group_kind[0][2, 1]
    assert states.voltage[kind, 0] == pytest.approx(-drop, abs=1e-8)
    expected = diode.saturation_current * np.expm1(drop / diode.nNsVth)
    assert states.bypass_current[kind, 0] == pytest.approx(expected, rel=1e-7)
    assert states.state[kind, 0] == GroupState.BYPASSED
    assert states.state[states.group_kind[0][0, 0], 0] == GroupState.CONDUCTING


def test_reverse_characteristic_is_bishops():
    il, i0, rs, rsh, a = 5.0, 2e-9, 0.006, 18.0, 0.0281
    breakdown = ReverseBreakdown(factor=2.0e-3, voltage=-14.5, exponent=3.4)
    made = block(il, i0, rs, rsh, a, ModuleWiring(1, 1, 1), breakdown=breakdown)
    string = CellString((made.with_bypass(0, 0, BypassState.OPEN),))
    diode_voltage = np.concatenate([np.linspace(-13.8, 0.0, 40), np.linspace(0.02, 0.6, 30)])
    current, voltage, _ = pvlib.singlediode.bishop88(
        diode_voltage,
        il,
        i0,
        rs,
        rsh,
        a,
        breakdown_factor=2.0e-3,
        breakdown_voltage=-14.5,
        breakdown_exp=3.4,
    )
    np.testing.assert_allclose(voltage_at(string, current), voltage, atol=1e-6)
    np.testing.assert_allclose(current_at(string, voltage), current, atol=1e-6)


def test_a_healthy_string_is_its_single_diode_curve():
    il, i0, rs, rsh, a = 13.8, 1.4e-10, 0.15, 165.0, 1.96
    made = block(il, i0, rs, rsh, a, ModuleWiring(72, 2, 3), modules=26, breakdown=NO_BREAKDOWN)
    made = made.with_bypass(*np.indices((26, 3)), BypassState.OPEN)  # none leaks
    voltage = np.linspace(0.0, 26 * 49.5, 120)
    expected = pvlib.pvsystem.i_from_v(voltage, il, i0, 26 * rs + 0.3, 26 * rsh, 26 * a)
    found = current_at(CellString((made,), 0.3), voltage)
    # 1e-9 S across each cell keeps the equations regular: 5e-10 A a cell.
    np.testing.assert_allclose(found, expected, atol=1e-8)

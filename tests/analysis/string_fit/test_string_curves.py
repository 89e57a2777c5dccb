"""The reduced string against pvlib's single-diode curve; its derivatives against differences."""

import numpy as np
import pvlib
import pytest
from scipy.constants import Boltzmann, elementary_charge
from scipy.stats import norm

from viewer.analysis.string_fit.reduced_string import (
    CELLS,
    CURRENT,
    DROP,
    FRACTION,
    GROUPS,
    KNEE,
    LEAK,
    LEAST_SPREAD,
    SERIES,
    SHIFT,
    SPREAD,
    STAIR_LEAK,
    reference_of,
    stair_place,
    start_vector,
)
from viewer.analysis.string_fit.signature_fit import MOST_SPREAD
from viewer.analysis.string_fit.string_curves import (
    Slopes,
    Strings,
    current_of,
    maximum_power,
    slopes_of,
    voltage_of,
)
from viewer.physics.single_diode import DiodeParameters

PARAMETERS = (8.6, 4e-9, 7.0, 6000.0, 31.5)
REFERENCE = reference_of(DiodeParameters.of(*PARAMETERS), 60)


def with_stair() -> np.ndarray:
    vector = start_vector(2)
    vector[[CURRENT, SHIFT, SERIES, LEAK, KNEE, DROP]] = 0.97, -0.01, 0.02, 0.015, -0.1, 1.2
    vector[SPREAD] = 0.006
    first, second = stair_place(0, 0), stair_place(1, 0)
    vector[[first + GROUPS, first + FRACTION, first + CELLS]] = 0.1, 0.5, 0.2
    vector[[second + GROUPS, second + FRACTION, second + CELLS]] = 0.15, 0.8, 0.9
    vector[second + STAIR_LEAK] = 0.1
    return vector


def one_row(values: np.ndarray) -> np.ndarray:
    return values[None, :]


def voltage(vector: np.ndarray, current: np.ndarray, present: float = 0.97) -> np.ndarray:
    return voltage_of(Strings.of(REFERENCE, present), one_row(vector), one_row(current))[0]


def test_the_prediction_itself_is_pvlibs_curve() -> None:
    il, i0, rs, rsh, a = PARAMETERS
    current = np.linspace(0.0, 0.99 * il, 80)
    expected = pvlib.pvsystem.v_from_i(current, il, i0, rs, rsh, a, method="lambertw")
    ours = voltage(start_vector(), current / REFERENCE.current_unit, present=1.0)
    assert ours * REFERENCE.voltage_unit == pytest.approx(expected, abs=2e-4 * expected[0])


def test_beyond_open_circuit_too() -> None:
    """Sweeps that were taken in more light than was read end there."""
    il, i0, rs, rsh, a = PARAMETERS
    current = np.linspace(-5.0, 0.0, 30) * il
    expected = pvlib.pvsystem.v_from_i(current, il, i0, rs, rsh, a, method="newton")
    ours = voltage(start_vector(), current / REFERENCE.current_unit, present=1.0)
    assert ours * REFERENCE.voltage_unit == pytest.approx(expected, rel=2e-3)


def test_greatest_power_is_pvlibs() -> None:
    expected = pvlib.pvsystem.singlediode(*PARAMETERS)
    power, at = maximum_power(Strings.of(REFERENCE, 1.0), one_row(start_vector()))
    watt = power[0] * REFERENCE.current_unit * REFERENCE.voltage_unit
    assert watt == pytest.approx(expected["p_mp"], rel=3e-4)
    assert at[0] * REFERENCE.current_unit == pytest.approx(expected["i_mp"], rel=5e-3)


def test_current_and_voltage_are_inverse() -> None:
    vector = with_stair()
    current = np.linspace(0.05, 0.95, 40)
    again, slope = current_of(
        Strings.of(REFERENCE, 0.97),
        one_row(vector),
        one_row(voltage(vector, current)),
        np.array([[1e-4]]),
    )
    assert again[0] == pytest.approx(current, abs=3e-3)
    assert np.all(slope < 0)


def test_voltage_never_rises_with_current() -> None:
    current = np.linspace(-0.05, 1.1, 2000)
    assert np.all(np.diff(voltage(with_stair(), current, present=1.0)) <= 0)


def with_a_limited_cell_in_most() -> np.ndarray:
    vector = with_stair()[: stair_place(1, 0)]
    vector[stair_place(0, 0) :] = 0.6, 0.5, 0.1, 0.01
    return vector


CURRENTS = 0.97 * np.union1d(np.linspace(0.0, 1.03, 100), np.linspace(0.975, 1.02, 40))
"""Up to where the last of the healthy groups ends."""
STEP = 2e-6
STRINGS = [with_stair(), with_a_limited_cell_in_most()]
PLACES = [(vector, place) for vector in STRINGS for place in range(vector.size)]


def difference(vector: np.ndarray, place: int, current: np.ndarray) -> np.ndarray:
    up, down = vector.copy(), vector.copy()
    up[place] += STEP
    down[place] -= STEP
    return (voltage(up, current) - voltage(down, current)) / (2 * STEP)


def slopes(vector: np.ndarray, current: np.ndarray) -> Slopes:
    return slopes_of(Strings.of(REFERENCE, 0.97), one_row(vector), one_row(current))


@pytest.mark.parametrize(("vector", "place"), PLACES)
def test_derivatives(vector: np.ndarray, place: int) -> None:
    expected = difference(vector, place, CURRENTS)
    # the inverse is a table, and bypass diodes are taken to drop the same at every current
    little = min(0.02, 0.03 * np.max(np.abs(expected)))
    ours = slopes(vector, CURRENTS).by_parameter[0, place]
    np.testing.assert_allclose(ours, expected, rtol=0.07, atol=little)


@pytest.mark.parametrize("vector", STRINGS)
def test_the_slope_over_current(vector: np.ndarray) -> None:
    rise = voltage(vector, CURRENTS + STEP) - voltage(vector, CURRENTS - STEP)
    ours = slopes(vector, CURRENTS).by_current[0]
    np.testing.assert_allclose(ours, rise / (2 * STEP), rtol=0.07, atol=0.02)


def test_a_wider_bell_is_part_of_a_larger_current() -> None:
    """Its standard deviation is a share of the current: where most groups end that counts."""
    vector = start_vector()
    vector[[LEAK, SPREAD]] = 0.05, MOST_SPREAD
    current = 1.0 + MOST_SPREAD * np.linspace(-1.0, 3.0, 40)
    ours = slopes(vector, current).by_parameter[0, CURRENT]
    np.testing.assert_allclose(ours, difference(vector, CURRENT, current), rtol=2e-3)


def test_a_bypass_diode_drops_as_a_diode_does() -> None:
    """At 50 °C a silicon junction of ideality 1.08 drops 0.03 V more for e times the current."""
    groups = 60
    dead = start_vector(1)
    dead[stair_place(0, 0) : stair_place(1, 0)] = 3 / groups, 0.0, 1.0, 0.0
    current = np.array([0.3, 0.3 * np.e])
    taken = voltage(dead, current, 1.0) - voltage(start_vector(), current, 1.0 - 3 / groups)
    each = taken * REFERENCE.voltage_unit / 3
    thermal = Boltzmann * 323.15 / elementary_charge
    assert each[0] - each[1] == pytest.approx(1.08 * thermal, rel=0.01)
    assert each[1] == pytest.approx(-0.5, abs=0.02)


def test_rows_do_not_know_of_each_other() -> None:
    other = reference_of(DiodeParameters.of(6.1, 1e-8, 2.0, 900.0, 22.0), 24)
    strings = Strings.room_for(2)
    strings.put(0, REFERENCE, 0.97)
    strings.put(1, other, 1.0)
    vectors = np.stack((with_stair(), start_vector(2)))
    current = np.tile(np.linspace(-0.1, 1.1, 60), (2, 1))
    together = voltage_of(strings, vectors, current)
    np.testing.assert_allclose(together[0], voltage(with_stair(), current[0]), atol=1e-9)
    alone = voltage_of(Strings.of(other, 1.0), vectors[1:], current[1:])
    np.testing.assert_allclose(together[1], alone[0], atol=1e-9)


def test_a_voltage_beyond_the_curve_is_not_read_from_the_next_row() -> None:
    strings = Strings.room_for(2)
    for row in range(2):
        strings.put(row, REFERENCE, 0.5)
    vectors = np.stack((start_vector(), start_vector()))
    voltages = np.tile(np.linspace(0.0, 30.0, 20), (2, 1))
    noise = np.full((2, 1), 1e-3)
    first, last = current_of(strings, vectors, voltages, noise)[0]
    np.testing.assert_array_equal(first, last)


@pytest.mark.parametrize(("leak", "knee"), [(0.07, -0.2), (0.1, 0.0), (0.1, -0.1)])
def test_a_bell_of_groups_gives_what_they_give_on_the_mean(leak: float, knee: float) -> None:
    """Groups that leak go below zero, by what they leak, before their diodes conduct."""
    spread = 0.006
    vector = start_vector()
    vector[[LEAK, KNEE, SPREAD]] = leak, knee, spread
    current = np.linspace(0.95, 1.02, 60)
    alike = np.tile(vector, (200, 1))
    alike[:, CURRENT] = 1.0 + spread * norm.ppf((np.arange(200) + 0.5) / 200)
    alike[:, SPREAD] = LEAST_SPREAD
    strings = Strings.of(REFERENCE, 1.0).rows(np.zeros(200, dtype=np.intp))
    expected = voltage_of(strings, alike, np.tile(current, (200, 1))).mean(axis=0)
    low = expected < 0.3
    ours = voltage(vector, current, present=1.0)
    assert ours[low] == pytest.approx(expected[low], abs=1.5e-4)

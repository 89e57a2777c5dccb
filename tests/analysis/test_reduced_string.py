"""The reduced string against pvlib's single-diode curve; its derivatives against differences."""

import numpy as np
import pvlib
import pytest

from viewer.analysis.reduced_string import (
    CELLS,
    CURRENT,
    DROP,
    FRACTION,
    GROUPS,
    KNEE,
    LEAK,
    SERIES,
    SHIFT,
    STAIR_LEAK,
    current_of,
    maximum_power,
    reference_of,
    slopes_of,
    stair_place,
    start_vector,
    voltage_of,
)
from viewer.physics.single_diode import DiodeParameters

PARAMETERS = (8.6, 4e-9, 7.0, 6000.0, 31.5)
REFERENCE = reference_of(DiodeParameters.of(*PARAMETERS), 60)


def with_stair() -> np.ndarray:
    vector = start_vector(2)
    vector[[CURRENT, SHIFT, SERIES, LEAK, KNEE, DROP]] = 0.97, -0.01, 0.02, 0.015, -0.1, 1.2
    first, second = stair_place(0, 0), stair_place(1, 0)
    vector[[first + GROUPS, first + FRACTION, first + CELLS]] = 0.1, 0.5, 0.2
    vector[[second + GROUPS, second + FRACTION, second + CELLS]] = 0.15, 0.8, 0.9
    vector[second + STAIR_LEAK] = 0.1
    return vector


def test_the_prediction_itself_is_pvlibs_curve() -> None:
    il, i0, rs, rsh, a = PARAMETERS
    current = np.linspace(0.0, 0.99 * il, 80)
    expected = pvlib.pvsystem.v_from_i(current, il, i0, rs, rsh, a, method="lambertw")
    ours = voltage_of(REFERENCE, start_vector(), 1.0, current / REFERENCE.current_unit)
    assert ours * REFERENCE.voltage_unit == pytest.approx(expected, abs=2e-4 * expected[0])


def test_greatest_power_is_pvlibs() -> None:
    expected = pvlib.pvsystem.singlediode(*PARAMETERS)
    watt, at = maximum_power(REFERENCE, start_vector(), 1.0)
    assert watt == pytest.approx(expected["p_mp"], rel=3e-4)
    assert at == pytest.approx(expected["i_mp"], rel=5e-3)


def test_current_and_voltage_are_inverse() -> None:
    vector = with_stair()
    current = np.linspace(0.05, 0.95, 40)
    voltage = voltage_of(REFERENCE, vector, 0.97, current)
    again, slope = current_of(REFERENCE, vector, 0.97, voltage)
    assert again == pytest.approx(current, abs=3e-3)
    assert np.all(slope < 0)


def test_voltage_never_rises_with_current() -> None:
    current = np.linspace(-0.05, 1.1, 2000)
    voltage = voltage_of(REFERENCE, with_stair(), 1.0, current)
    assert np.all(np.diff(voltage) <= 0)


@pytest.mark.parametrize("place", range(start_vector(2).size))
def test_derivatives(place: int) -> None:
    vector = with_stair()
    current = np.linspace(0.0, 0.93, 50)
    slopes = slopes_of(REFERENCE, vector, 0.97, current)
    assert slopes.voltage == pytest.approx(voltage_of(REFERENCE, vector, 0.97, current))
    step = 1e-4
    up, down = vector.copy(), vector.copy()
    up[place] += step
    down[place] -= step
    difference = voltage_of(REFERENCE, up, 0.97, current) - voltage_of(
        REFERENCE, down, 0.97, current
    )
    error = np.abs(difference / (2 * step) - slopes.by_parameter[place])
    # the inverse is a table, so single points next to a corner may differ
    assert np.median(error) < 0.02 * np.max(np.abs(slopes.by_parameter[place])) + 1e-6

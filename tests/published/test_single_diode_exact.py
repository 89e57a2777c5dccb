"""The single-diode curve against the equation solved with 50 digits by mpmath."""

import mpmath
import numpy as np
import pytest

from viewer.physics.single_diode import (
    DiodeParameters,
    current_at,
    curve,
    exact_key_points,
    voltage_at,
)

mpmath.mp.dps = 50

# photocurrent, saturation current, series and shunt resistance, nNsVth
DEVICES = {
    "72-cell module": (10.2, 4.1e-10, 0.21, 512.0, 2.02),
    "leaky module, low light": (0.31, 2.2e-9, 0.55, 61.0, 1.71),
    "string of 24": (11.4, 8.0e-11, 6.1, 9100.0, 46.5),
    "cell": (9.0, 1.3e-8, 0.0041, 12.0, 0.0283),
    "no series resistance": (8.5, 1.0e-9, 0.0, 300.0, 1.6),
}


@pytest.fixture(params=DEVICES, ids=DEVICES.keys())
def numbers(request) -> tuple[float, ...]:
    return DEVICES[request.param]


def exact_current(numbers, diode_voltage):
    light, dark, _, shunt, a = map(mpmath.mpf, numbers)
    return light - dark * mpmath.expm1(diode_voltage / a) - diode_voltage / shunt


def exact_diode_voltage(numbers, voltage, start):
    series = mpmath.mpf(numbers[2])
    return mpmath.findroot(
        lambda vd: vd - series * exact_current(numbers, vd) - mpmath.mpf(voltage), start
    )


def exact_open_circuit(numbers):
    light, dark, _, _, a = map(mpmath.mpf, numbers)
    return mpmath.findroot(lambda vd: exact_current(numbers, vd), a * mpmath.log(light / dark))


def test_key_points_to_twelve_digits(numbers):
    ours = exact_key_points(DiodeParameters.of(*numbers))
    _, dark, series, shunt, a = map(mpmath.mpf, numbers)
    v_oc = exact_open_circuit(numbers)
    i_sc = exact_current(numbers, exact_diode_voltage(numbers, 0.0, 0.0))

    def slope_of_power(vd):
        g = dark / a * mpmath.exp(vd / a) + 1 / shunt
        current = exact_current(numbers, vd)
        return current * (1 + g * series) - g * (vd - current * series)

    start = float(ours["v_mp"] + ours["i_mp"] * numbers[2])
    vd_mp = mpmath.findroot(slope_of_power, start)
    i_mp = exact_current(numbers, vd_mp)
    v_mp = vd_mp - i_mp * series
    exact = {"i_sc": i_sc, "v_oc": v_oc, "i_mp": i_mp, "v_mp": v_mp, "p_mp": i_mp * v_mp}
    for name, value in exact.items():
        assert abs(float(ours[name]) / float(value) - 1.0) < 1e-12, name
    assert float(ours["fill_factor"]) == pytest.approx(
        float(i_mp * v_mp / (i_sc * v_oc)), rel=1e-12
    )


@pytest.mark.parametrize("share", [-0.2, 0.0, 0.4, 0.8, 0.95, 1.0, 1.05])
def test_current_at_a_voltage_to_twelve_digits_of_isc(numbers, share):
    v_oc = float(exact_open_circuit(numbers))
    ours = float(current_at(DiodeParameters.of(*numbers), share * v_oc))
    start = share * v_oc + max(ours, 0.0) * numbers[2]
    exact = exact_current(numbers, exact_diode_voltage(numbers, share * v_oc, start))
    scale = max(numbers[0], abs(float(exact)))
    assert abs(ours - float(exact)) / scale < 1e-12


@pytest.mark.parametrize("share", [-0.5, 0.0, 0.5, 0.9, 0.99, 1.1])
def test_voltage_at_a_current_to_twelve_digits_of_voc(numbers, share):
    current = share * numbers[0]
    ours = float(voltage_at(DiodeParameters.of(*numbers), current))
    start = ours + current * numbers[2]
    vd = mpmath.findroot(lambda x: exact_current(numbers, x) - mpmath.mpf(current), start)
    exact = vd - mpmath.mpf(current) * mpmath.mpf(numbers[2])
    scale = max(float(exact_open_circuit(numbers)), abs(float(exact)))
    assert abs(ours - float(exact)) / scale < 1e-12


def test_points_of_the_curve_satisfy_the_equation(numbers):
    voltage, current = curve(DiodeParameters.of(*numbers), 25)
    assert voltage[0] == 0.0
    assert current[-1] == 0.0
    assert np.all(np.diff(voltage) > 0.0)
    for v, i in zip(voltage, current, strict=True):
        vd = mpmath.mpf(v) + mpmath.mpf(i) * mpmath.mpf(numbers[2])
        assert abs(float(exact_current(numbers, vd)) - i) / numbers[0] < 1e-11

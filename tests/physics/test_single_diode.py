"""Corner cases of the single-diode curve that no outside reference is needed for."""

import numpy as np
import pytest

from viewer.physics.single_diode import (
    DiodeParameters,
    current_at,
    curve,
    exact_key_points,
    from_diode_voltage,
    voltage_at,
)

MODULE = DiodeParameters.of(9.1, 3e-10, 0.25, 420.0, 1.62)


def test_shapes_follow_the_parameters():
    many = DiodeParameters.of(np.full((2, 3), 9.1), 3e-10, 0.25, 420.0, 1.62)
    voltage, current = curve(many, 40)
    assert voltage.shape == current.shape == (2, 3, 40)
    assert curve(MODULE, 7)[0].shape == (7,)
    assert exact_key_points(many)["v_mp"].shape == (2, 3)


def test_blocks_do_not_change_the_numbers():
    """More points than a block holds: every curve as if it were alone."""
    light = np.linspace(1.0, 12.0, 300)
    many = DiodeParameters.of(light, 3e-10, 0.25, 420.0, 1.62)
    voltage, current = curve(many, 200)
    for row in (0, 81, 82, 299):
        alone = curve(many[row], 200)
        np.testing.assert_allclose(voltage[row], alone[0], rtol=1e-13, atol=1e-13)
        np.testing.assert_allclose(current[row], alone[1], rtol=1e-13, atol=1e-13)


def test_a_string_of_equal_modules_has_their_key_points():
    module = exact_key_points(MODULE)
    string = exact_key_points(MODULE.in_series(24).in_parallel(2))
    assert string["v_mp"] == pytest.approx(24 * module["v_mp"])
    assert string["i_mp"] == pytest.approx(2 * module["i_mp"])
    assert string["fill_factor"] == pytest.approx(module["fill_factor"])


def test_cable_costs_its_drop():
    with_cable = MODULE.with_extra_series(0.4)
    for current in (2.0, 8.0):
        drop = voltage_at(MODULE, current) - voltage_at(with_cable, current)
        assert drop == pytest.approx(0.4 * current)


def test_darkness_and_unknowns():
    dark = DiodeParameters.of([0.0, np.nan], 3e-10, 0.25, 420.0, 1.62)
    voltage, current = curve(dark, 5)
    assert np.all(voltage[0] == 0.0)
    assert np.allclose(current[0], 0.0)
    assert np.all(np.isnan(voltage[1]))
    assert np.all(np.isnan(current[1]))
    key = exact_key_points(dark)
    assert key["p_mp"][0] == 0.0
    assert np.isnan(key["p_mp"][1])


def test_without_shunt_no_voltage_carries_more_than_the_photocurrent():
    faultless = DiodeParameters.of(9.1, 3e-10, 0.25, np.inf, 1.62)
    assert voltage_at(faultless, 9.2) == -np.inf
    assert current_at(faultless, -40.0) == pytest.approx(9.1, rel=1e-9)
    assert voltage_at(faultless, 0.0) == pytest.approx(float(exact_key_points(faultless)["v_oc"]))


def test_far_beyond_open_circuit_the_series_resistance_rules():
    assert current_at(MODULE, 1000.0) == pytest.approx(-(1000.0 - 45.0) / 0.25, rel=0.02)


def test_given_diode_voltages_broadcast():
    two = DiodeParameters.of([9.0, 4.5], 3e-10, 0.25, 420.0, 1.62)
    voltage, current = from_diode_voltage(two, [0.0, 20.0, 30.0])
    assert voltage.shape == (2, 3)
    np.testing.assert_allclose(current[:, 0], [9.0, 4.5])
    np.testing.assert_allclose(voltage[:, 0], [-9.0 * 0.25, -4.5 * 0.25])


def test_a_curve_has_two_ends():
    with pytest.raises(ValueError, match="at least 2 points, not 1"):
        curve(MODULE, 1)

"""Key points of sweeps as they come from the field: each trouble on its own.

Truth is pvlib's exact curve (tests/physics/swept_curves.py).
"""

import math

import numpy as np
import pytest

from tests.physics.swept_curves import (
    CRYSTALLINE,
    STRING,
    THIN_FILM,
    Device,
    dense_near_voc,
    shaded,
    swept,
)
from viewer.physics.measured_sweep.key_points import (
    MeasuredKeyPoints,
    find_key_points,
    find_key_points_of_many,
)
from viewer.physics.sweep_cleaning import UnusableSweepError

DEVICES = [CRYSTALLINE, THIN_FILM, STRING]


def assert_near_truth(found: MeasuredKeyPoints, device: Device, within: float) -> None:
    """All six within `within` of the truth, or within four of their uncertainties."""
    for name, truth in device.key_points().items():
        value = getattr(found.values, name)
        spread = getattr(found.standard_uncertainty, name)
        assert abs(value - truth) <= max(within * truth, 4.0 * spread), name
        assert spread < 0.02 * truth, name


@pytest.mark.parametrize("device", DEVICES)
@pytest.mark.parametrize("points", [15, 41, 200, 4000])
def test_few_and_many_points(device: Device, points: int) -> None:
    assert_near_truth(find_key_points(*swept(device, points)), device, 5e-4)


@pytest.mark.parametrize("device", DEVICES)
def test_uneven_spacing(device: Device) -> None:
    random = np.random.default_rng(3)
    voltage = np.sort(random.uniform(0.0, 1.0, 120) ** 0.4) * device.key_points()["v_oc"]
    current = device.current(voltage) + random.normal(0.0, 5e-4, 120) * device.photocurrent
    assert_near_truth(find_key_points(voltage, current), device, 5e-4)


@pytest.mark.parametrize("device", DEVICES)
def test_noise_in_voltage_too(device: Device) -> None:
    found = find_key_points(*swept(device, 300, noise=2e-3, noise_voltage=2e-3))
    assert_near_truth(found, device, 5e-4)


@pytest.mark.parametrize("points", [150, 270])
def test_voc_of_a_sweep_that_is_dense_where_its_voltage_is_noisy(points: int) -> None:
    """As a capacitor that is charged takes its points. One in six left Voc open, for noise in
    voltage parts such points where no step is; truth from pvlib."""
    v_oc = STRING.key_points()["v_oc"]
    for seed in range(40):
        found = find_key_points(*dense_near_voc(STRING, points, noise_voltage=0.004, seed=seed))
        away = abs(found.values.v_oc - v_oc)
        assert away < 4.0 * found.standard_uncertainty.v_oc, seed
        assert away < 0.005 * v_oc, seed


def test_sweep_that_starts_above_0_volt_says_that_isc_is_extrapolated() -> None:
    found = find_key_points(*swept(CRYSTALLINE, span=(0.15, 1.0)))
    assert_near_truth(found, CRYSTALLINE, 5e-4)
    assert any("Isc is extrapolated" in remark for remark in found.remarks)


def test_sweep_that_ends_before_open_circuit_says_that_voc_is_extrapolated() -> None:
    found = find_key_points(*swept(CRYSTALLINE, span=(0.0, 0.96)))
    assert_near_truth(found, CRYSTALLINE, 5e-4)
    assert any("Voc is extrapolated" in remark for remark in found.remarks)


def test_sweep_beyond_open_circuit() -> None:
    found = find_key_points(*swept(CRYSTALLINE, span=(-0.01, 1.03)))
    assert_near_truth(found, CRYSTALLINE, 5e-4)


def test_sweep_that_ends_at_the_knee_leaves_voc_unknown() -> None:
    found = find_key_points(*swept(CRYSTALLINE, span=(0.0, 0.86)))
    assert math.isnan(found.values.v_oc)
    assert math.isnan(found.values.fill_factor)
    assert found.values.i_sc == pytest.approx(CRYSTALLINE.key_points()["i_sc"], rel=2e-3)
    assert any(remark.startswith("Voc is not known") for remark in found.remarks)
    assert any("slope near Voc is not known" in remark for remark in found.remarks)


def test_sweep_that_ends_before_the_knee_leaves_the_maximum_unknown() -> None:
    found = find_key_points(*swept(CRYSTALLINE, span=(0.0, 0.7)))
    assert math.isnan(found.values.p_mp)
    assert math.isnan(found.values.v_mp)
    assert any(remark.startswith("Pmp is not known") for remark in found.remarks)


def test_sweep_that_starts_far_from_0_volt_leaves_isc_unknown() -> None:
    found = find_key_points(*swept(CRYSTALLINE, span=(0.6, 1.0)))
    assert math.isnan(found.values.i_sc)
    assert found.values.v_oc == pytest.approx(CRYSTALLINE.key_points()["v_oc"], rel=2e-3)
    assert any(remark.startswith("Isc is not known") for remark in found.remarks)


@pytest.mark.parametrize("points", [25, 200])
@pytest.mark.parametrize("where", [0.1, 0.5, 0.8])
def test_one_outlier_is_left_out_and_named(points: int, where: float) -> None:
    voltage, current = swept(CRYSTALLINE, points)
    number = int(where * points)
    clean = find_key_points(voltage, current)
    current = current.copy()
    current[number] *= 0.8
    found = find_key_points(voltage, current)
    assert found.quality is not None
    assert found.quality.outliers == ((voltage[number], current[number]),)
    assert any("outliers" in remark for remark in found.remarks)
    for name, value in clean.values.as_dict().items():
        spread = getattr(clean.standard_uncertainty, name)
        assert abs(getattr(found.values, name) - value) < 2.0 * spread, name


@pytest.mark.parametrize(("share", "light"), [(0.5, 0.5), (0.33, 0.7), (0.67, 0.4), (0.1, 0.8)])
@pytest.mark.parametrize("points", [60, 400])
def test_global_maximum_of_a_stepped_curve(share: float, light: float, points: int) -> None:
    voltage, current, fine, exact = shaded(STRING, share, light, points)
    found = find_key_points(voltage, current)
    power = fine * exact
    assert found.values.p_mp == pytest.approx(power.max(), rel=0.004)
    assert found.values.v_mp == pytest.approx(fine[power.argmax()], rel=0.02)
    assert found.values.i_sc == pytest.approx(np.interp(0.0, fine, exact), rel=0.002)
    assert found.values.v_oc == pytest.approx(np.interp(0.0, -exact, fine), rel=0.004)


@pytest.mark.parametrize("before_the_maximum", [0, 3, 8])
def test_an_outlier_of_a_stepped_curve_is_no_maximum(before_the_maximum: int) -> None:
    voltage, current, _, _ = shaded(STRING, 0.5, 0.5, 200)
    clean = find_key_points(voltage, current).values
    place = int(np.argmax(voltage * current)) - before_the_maximum
    current = current.copy()
    current[place] *= 1.15
    found = find_key_points(voltage, current)
    assert found.quality is not None
    assert found.quality.outliers == ((voltage[place], current[place]),)
    assert found.values.p_mp == pytest.approx(clean.p_mp, rel=0.002)


def test_both_power_maxima_are_reported() -> None:
    voltage, current, fine, exact = shaded(STRING, 0.4, 0.55)
    found = find_key_points(voltage, current)
    power = fine * exact
    inner = (power[1:-1] > power[:-2]) & (power[1:-1] > power[2:])
    tops = fine[1:-1][inner]
    assert len(found.power_maxima) == 2
    assert found.power_maxima[0].voltage == pytest.approx(tops.min(), rel=0.02)
    assert found.power_maxima[1].voltage == pytest.approx(tops.max(), rel=0.02)
    assert max(one.power for one in found.power_maxima) == pytest.approx(found.values.p_mp)
    assert any("2 maxima" in remark for remark in found.remarks)


@pytest.mark.parametrize("share", [0.04, 0.93])
def test_step_near_either_axis(share: float) -> None:
    """Few cells dim: a step near Voc; nearly all dim: a step near 0 V."""
    voltage, current, fine, exact = shaded(STRING, share, 0.8, 300)
    found = find_key_points(voltage, current)
    assert found.values.i_sc == pytest.approx(np.interp(0.0, fine, exact), rel=0.003)
    assert found.values.v_oc == pytest.approx(np.interp(0.0, -exact, fine), rel=0.003)
    assert found.values.p_mp == pytest.approx((fine * exact).max(), rel=0.004)


def test_light_that_grows_during_the_sweep_is_noticed_and_widens_the_uncertainty() -> None:
    voltage, current = swept(CRYSTALLINE, noise=5e-4)
    steady = find_key_points(voltage, current)
    found = find_key_points(voltage, current * np.linspace(1.0, 1.06, voltage.size))
    assert found.quality is not None
    assert found.quality.drift is not None
    assert 0.01 < found.quality.drift < 0.06
    assert found.standard_uncertainty.p_mp > 3.0 * steady.standard_uncertainty.p_mp
    assert any("irradiance changed" in remark for remark in found.remarks)
    assert math.isnan(found.slopes.resistance_shunt)


def test_measured_change_of_irradiance_is_used() -> None:
    voltage, current = swept(CRYSTALLINE)
    found = find_key_points(voltage, current, irradiance_change=-0.03)
    assert found.quality is not None
    assert found.quality.drift == -0.03
    expected = 0.03 / math.sqrt(12.0) * found.values.i_sc
    assert found.standard_uncertainty.i_sc == pytest.approx(expected, rel=0.05)


def test_hysteresis_between_the_directions() -> None:
    voltage, current = swept(CRYSTALLINE, 120, noise=1e-4)
    there_and_back = np.concatenate([voltage, voltage[::-1] - 1e-3])
    lower = np.concatenate([current, 0.98 * current[::-1]])
    found = find_key_points(there_and_back, lower)
    assert found.quality is not None
    assert found.quality.hysteresis == pytest.approx(-0.02, abs=0.003)
    assert find_key_points(voltage, current).quality.hysteresis is None  # type: ignore[union-attr]


@pytest.mark.parametrize("device", DEVICES)
def test_slopes_at_both_ends(device: Device) -> None:
    found = find_key_points(*swept(device, 400, noise=2e-4)).slopes
    v_oc = device.key_points()["v_oc"]
    shunt, series = device.slope(0.0), device.slope(v_oc)
    assert abs(found.resistance_shunt - shunt) < 4.0 * found.resistance_shunt_uncertainty
    assert abs(found.resistance_series - series) < 4.0 * found.resistance_series_uncertainty
    assert found.resistance_shunt_uncertainty < 0.2 * shunt
    assert found.resistance_series_uncertainty < 0.02 * series


def test_slope_near_isc_that_drowns_in_noise_is_only_bounded() -> None:
    found = find_key_points(*swept(CRYSTALLINE, 30, noise=0.015))
    assert math.isnan(found.slopes.resistance_shunt)
    assert math.isfinite(found.slopes.conductance)
    assert any("at least" in remark for remark in found.remarks)


def test_many_at_once_give_what_each_gives_alone() -> None:
    sweeps = [swept(device, points) for device in DEVICES for points in (40, 90, 333)]
    sweeps.append(shaded(STRING, 0.4, 0.5)[:2])
    together = find_key_points_of_many(sweeps)
    for sweep, one in zip(sweeps, together, strict=True):
        alone = find_key_points(*sweep)
        for name, value in alone.values.as_dict().items():
            assert getattr(one.values, name) == pytest.approx(value, rel=1e-5), name


def test_a_sweep_that_is_none_does_not_stop_the_others() -> None:
    found = find_key_points_of_many([swept(CRYSTALLINE), ([1.0], [1.0]), swept(THIN_FILM)])
    assert math.isnan(found[1].values.p_mp)
    assert found[1].quality is None
    assert "at least 3 different voltages" in found[1].remarks[0]
    assert found[2].values.p_mp > 0
    with pytest.raises(UnusableSweepError):
        find_key_points([1.0], [1.0])


def test_a_dark_sweep_delivers_no_power() -> None:
    voltage = np.linspace(0.0, 40.0, 50)
    found = find_key_points(voltage, -1e-3 - 1e-9 * np.exp(voltage / 2.0))
    assert math.isnan(found.values.p_mp)


def test_quality_counts_the_points_near_the_knee() -> None:
    dense = find_key_points(*swept(CRYSTALLINE, 200)).quality
    coarse = find_key_points(*swept(CRYSTALLINE, 20)).quality
    assert dense is not None
    assert coarse is not None
    assert dense.points_near_knee > 3 * coarse.points_near_knee
    assert dense.gap_near_knee < 0.01 < coarse.gap_near_knee
    assert dense.noise_current == pytest.approx(0.0095, rel=0.25)

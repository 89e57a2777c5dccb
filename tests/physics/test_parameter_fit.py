"""The five parameters of measured sweeps: recovered, with honest uncertainty, or refused.

Truth is pvlib's exact curve (tests/physics/swept_curves.py).
"""

import numpy as np
import pytest

from tests.physics.swept_curves import CRYSTALLINE, STRING, THIN_FILM, Device, shaded, swept
from viewer.physics.curve_fit.parameter_fit import (
    ParameterFit,
    fit_parameters,
    fit_parameters_jointly,
    fit_parameters_of_many,
)
from viewer.physics.single_diode import DiodeParameters
from viewer.physics.sweep_cleaning import UnusableSweepError

DEVICES = [CRYSTALLINE, THIN_FILM, STRING]


def five(parameters: DiodeParameters) -> np.ndarray:
    return np.array(
        [
            parameters.photocurrent,
            parameters.saturation_current,
            parameters.resistance_series,
            parameters.resistance_shunt,
            parameters.nNsVth,
        ],
        dtype=float,
    )


def normalised_errors(found: ParameterFit, device: Device) -> np.ndarray:
    return (five(found.parameters) - np.array(device.five)) / five(found.standard_uncertainty)


@pytest.mark.parametrize("device", DEVICES)
def test_exact_curve_gives_back_its_parameters(device: Device) -> None:
    found = fit_parameters(*swept(device, 100, noise=0.0))
    assert five(found.parameters) == pytest.approx(np.array(device.five), rel=1e-6)
    assert found.meaningful
    assert found.remarks == ()


@pytest.mark.parametrize("device", DEVICES)
def test_uncertainty_covers_the_truth(device: Device) -> None:
    sweeps = [swept(device, 200, noise=5e-4, seed=seed) for seed in range(200)]
    errors = np.array([normalised_errors(one, device) for one in fit_parameters_of_many(sweeps)])
    covered = np.mean(np.abs(errors) <= 1.96, axis=0)
    assert np.all(covered >= 0.88)
    assert np.all(np.abs(np.median(errors, axis=0)) < 0.3)


def test_covariance_belongs_to_the_uncertainty() -> None:
    found = fit_parameters(*swept(CRYSTALLINE))
    assert np.sqrt(np.diag(found.covariance)) == pytest.approx(five(found.standard_uncertainty))
    correlation = found.covariance[1, 4] / np.prod(np.sqrt(np.diag(found.covariance)[[1, 4]]))
    assert 0.9 < correlation < 1.0


def test_fitted_current_and_residual_at_the_measured_voltages() -> None:
    voltage, current = swept(CRYSTALLINE, 100, noise=1e-3)
    found = fit_parameters(voltage[::-1], current[::-1])
    p = found.parameters
    device = Device(*(float(x) for x in five(p)))
    assert found.voltage.tolist() == voltage.tolist()
    assert found.fitted_current == pytest.approx(device.current(voltage), abs=1e-8)
    assert found.residual == pytest.approx(current - device.current(voltage), abs=1e-8)
    assert found.misfit == pytest.approx(1e-3 * CRYSTALLINE.photocurrent, rel=0.2)


@pytest.mark.parametrize(("share", "light"), [(0.33, 0.7), (0.5, 0.9)])
def test_a_step_makes_the_parameters_meaningless(share: float, light: float) -> None:
    found = fit_parameters(*shaded(STRING, share, light)[:2])
    assert not found.meaningful
    assert np.isnan(five(found.parameters)).all()
    assert "step" in found.remarks[0]
    assert np.isfinite(found.fitted_current).all()


def test_growing_light_makes_the_parameters_meaningless() -> None:
    voltage, current = swept(CRYSTALLINE, noise=5e-4)
    found = fit_parameters(voltage, current * np.linspace(1.0, 1.1, voltage.size))
    assert not found.meaningful
    assert "light" in found.remarks[0]


def test_a_sweep_that_ends_early_does_not_tell() -> None:
    found = fit_parameters(*swept(CRYSTALLINE, span=(0.0, 0.85)))
    assert not found.meaningful
    assert "too far from Voc" in found.remarks[0]


def test_no_leakage_gives_an_infinite_shunt_with_a_bound() -> None:
    tight = Device(9.5, 9.5e-10, 0.3, 1e9, 1.9)
    found = [fit_parameters(*swept(tight, 150, noise=1e-3, seed=seed)) for seed in range(8)]
    bounded = [any("at least" in remark for remark in one.remarks) for one in found]
    assert sum(bounded) >= 6
    assert any(np.isinf(one.parameters.resistance_shunt) for one in found)
    none = next(one for one in found if np.isinf(one.parameters.resistance_shunt))
    assert np.isnan(none.standard_uncertainty.resistance_shunt)
    assert np.isfinite(five(none.standard_uncertainty)[[0, 1, 2, 4]]).all()


def test_an_outlier_is_left_out() -> None:
    voltage, current = swept(CRYSTALLINE, 100)
    clean = fit_parameters(voltage, current)
    current = current.copy()
    current[60] *= 1.1
    found = fit_parameters(voltage, current)
    assert np.flatnonzero(found.left_out).tolist() == [60]
    shift = five(found.parameters) - five(clean.parameters)
    assert np.all(np.abs(shift) < 0.5 * five(clean.standard_uncertainty))


def test_repeated_sweeps_with_lasting_noise_give_one_set() -> None:
    """Noise that lasts through a sweep, as in case 3 of the public benchmark of C. Hansen."""
    random = np.random.default_rng(2)
    sweeps = []
    for seed in range(25):
        voltage, current = swept(CRYSTALLINE, 100, noise=1e-5, noise_voltage=2e-4, seed=seed)
        drift = np.cumsum(random.normal(0.0, 2e-4, 100)) + random.normal(0.0, 1e-3)
        sweeps.append((voltage, current + drift * CRYSTALLINE.photocurrent))
    joint = fit_parameters_jointly(sweeps)
    errors = np.abs(five(joint.parameters) / np.array(CRYSTALLINE.five) - 1.0)
    each = np.array([five(one.parameters) for one in fit_parameters_of_many(sweeps)])
    alone = np.nanmedian(np.abs(each / np.array(CRYSTALLINE.five) - 1.0), axis=0)
    assert errors.sum() < 0.5 * alone.sum()
    assert np.all(np.abs(normalised_errors(joint, CRYSTALLINE)) < 4.0)


def test_too_few_points_and_no_sweep_are_said() -> None:
    found = fit_parameters_of_many([([0.0, 1, 2, 3], [1.0, 0.9, 0.6, 0.0]), ([], [])])
    assert "at least 6" in found[0].remarks[0]
    assert "no usable point" in found[1].remarks[0]
    assert not found[0].meaningful
    with pytest.raises(UnusableSweepError):
        fit_parameters([], [])


def test_what_was_tried_does_not_depend_on_the_neighbours() -> None:
    sweeps = [swept(device, points) for device in DEVICES for points in (50, 220)]
    for sweep, one in zip(sweeps, fit_parameters_of_many(sweeps), strict=True):
        alone = fit_parameters(*sweep)
        assert five(one.parameters) == pytest.approx(five(alone.parameters), rel=1e-4)

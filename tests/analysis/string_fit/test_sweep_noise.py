"""The noise of a sweep from the sweep itself; noise of known size on a curve of two lines."""

import numpy as np
import pytest

from viewer.analysis.string_fit.sweep_noise import (
    MODEL_CURRENT,
    MODEL_VOLTAGE,
    MOST_NOISE,
    VOLTAGE_NOISE_SHARE,
    sweep_noise,
)

VOLTAGE = np.linspace(0.0, 500.0, 400)


def curve(noise: float, seed: int = 1) -> np.ndarray:
    """A current of 8 A that falls steeply from 80 % of the voltage on."""
    falling = 8.0 * (1.0 - np.maximum(VOLTAGE / 500.0 - 0.8, 0.0) / 0.2)
    return falling + 8.0 * noise * np.random.default_rng(seed).standard_normal(VOLTAGE.size)


@pytest.mark.parametrize("noise", [0.004, 0.01])
def test_it_is_the_noise_that_was_added(noise: float) -> None:
    volts, amperes = sweep_noise(VOLTAGE, curve(noise))
    alike = np.sqrt(VOLTAGE.size / 100)
    assert amperes / 8.0 == pytest.approx(np.hypot(noise, MODEL_CURRENT * alike), rel=0.12)
    expected = np.hypot(VOLTAGE_NOISE_SHARE * noise, MODEL_VOLTAGE * alike)
    assert volts / 500.0 == pytest.approx(expected, rel=0.12)


def test_without_noise_the_models_own_error_is_left_and_counts_as_a_hundred_points() -> None:
    for points in (100, 400):
        few = slice(None, None, 400 // points)
        volts, amperes = sweep_noise(VOLTAGE[few], curve(0.0)[few])
        assert amperes / 8.0 == pytest.approx(MODEL_CURRENT * np.sqrt(points / 100), rel=0.01)
        share = volts / float(VOLTAGE[few][-1])
        assert share == pytest.approx(MODEL_VOLTAGE * np.sqrt(points / 100), rel=0.01)


def test_the_steep_part_and_steps_tell_nothing() -> None:
    """Not even where most of the points lie."""
    voltage = np.concatenate((VOLTAGE[:280:2], np.linspace(351.0, 500.0, 260)))
    current = np.interp(voltage, VOLTAGE, curve(0.0))
    noise = np.random.default_rng(2).standard_normal(voltage.size)
    current[70:140] *= 0.7
    disturbed = current + np.where(voltage < 350.0, 0.02, 0.5) * noise
    even = current + 0.02 * noise
    assert sweep_noise(voltage, disturbed)[1] == pytest.approx(
        sweep_noise(voltage, even)[1], rel=0.1
    )


def test_readings_that_jump_count_no_more_than_so_much() -> None:
    current = curve(0.2)
    full = float(current.max())
    assert sweep_noise(VOLTAGE, current)[1] / full == pytest.approx(MOST_NOISE, rel=0.01)

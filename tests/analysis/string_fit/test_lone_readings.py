"""Single readings far off a sweep are found, what a string does is not taken for them.

The curves are pvlib's single-diode model, stairs added by hand.
"""

import numpy as np
import pytest
from pvlib.pvsystem import i_from_v

from viewer.analysis.string_fit.lone_readings import lone_readings

FIVE = {
    "photocurrent": 10.0,
    "saturation_current": 1e-9,
    "resistance_series": 0.35,
    "resistance_shunt": 400.0,
    "nNsVth": 1.95,
}
V_OC = 44.9


def sweep(points: int = 200, noise: float = 0.002, seed: int = 1) -> tuple[np.ndarray, np.ndarray]:
    voltage = np.linspace(0.0, V_OC, points)
    rng = np.random.default_rng(seed)
    return voltage, i_from_v(voltage, **FIVE) + noise * 10.0 * rng.standard_normal(points)


def stairs(voltage: np.ndarray, levels: tuple[float, ...], noise: float) -> np.ndarray:
    """One part of the string after another limited to a level; steep falls between them."""
    rng = np.random.default_rng(4)
    edges = np.linspace(0.0, voltage[-1], len(levels) + 1)
    level = np.asarray(levels)[np.clip(np.searchsorted(edges, voltage) - 1, 0, len(levels) - 1)]
    return level + noise * rng.standard_normal(voltage.size)


@pytest.mark.parametrize(
    ("place", "off"),
    [(5, -0.6), (5, 0.6), (90, -3.0), (90, 0.6), (150, -0.6), (150, 4.0), (185, -3.0), (185, 4.0)],
)
def test_one_reading_far_off_is_found_wherever_it_lies(place: int, off: float) -> None:
    _, current = sweep()
    current[place] += off
    assert np.flatnonzero(lone_readings(current)).tolist() == [place]


def test_two_that_are_close_are_both_found() -> None:
    _, current = sweep()
    current[[150, 152]] -= 2.0
    assert np.flatnonzero(lone_readings(current)).tolist() == [150, 152]


@pytest.mark.parametrize("seed", range(20))
@pytest.mark.parametrize("noise", [0.0, 0.002, 0.005])
def test_noise_is_left_alone(noise: float, seed: int) -> None:
    assert not lone_readings(sweep(noise=noise, seed=seed)[1]).any()


@pytest.mark.parametrize("points", [24, 60, 200])
def test_stairs_are_what_the_string_does(points: int) -> None:
    voltage = np.linspace(0.0, V_OC, points)
    assert not lone_readings(stairs(voltage, (10.0, 9.0, 6.0, 2.0), 0.01)).any()


def test_light_that_jumps_during_the_sweep_is_no_single_reading() -> None:
    _, current = sweep()
    current[80:] *= 1.12
    assert not lone_readings(current).any()


def test_where_many_are_far_off_they_are_what_was_measured() -> None:
    _, current = sweep()
    current[10:190:10] -= 2.0
    assert not lone_readings(current).any()


def test_a_short_sweep_has_none() -> None:
    assert not lone_readings(np.array([5.0, 1.0, 5.0, 4.0, 0.1])).any()
    assert lone_readings(np.empty(0)).size == 0

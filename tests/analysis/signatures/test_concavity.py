"""Sweeps without a prediction: the concave hull and the stairs below it."""

import numpy as np
import pvlib
import pytest

from viewer.analysis.signatures import curve_alone
from viewer.analysis.signatures.concavity import depth_below_hull
from viewer.analysis.signatures.curve_alone import read_without_prediction
from viewer.physics.measured_sweep.key_points import KeyPoints, find_key_points


def sweep(limited: int, fraction: float, groups: int = 30, noise: float = 0.001) -> tuple:
    """A string by pvlib: `limited` of its groups have `fraction` of the photocurrent."""
    one = (1e-9, 0.12, 60.0, 0.0257 * 1.05 * 20)
    current = np.linspace(0, 8.0, 4000)
    total = np.zeros_like(current)
    for count, il in ((groups - limited, 7.9), (limited, 7.9 * fraction)):
        own = pvlib.pvsystem.v_from_i(current, il, *one, method="lambertw")
        total += count * np.maximum(np.where(np.isfinite(own), own, -0.5), -0.5)
    keep = total >= 0
    order = np.argsort(total[keep])
    v = np.linspace(0.002, 1, 120) * total.max()
    i = np.interp(v, total[keep][order], current[keep][order])
    i = i + noise * 7.9 * np.random.default_rng(4).standard_normal(v.size)
    return v, i


def test_hull_of_a_concave_curve_is_the_curve() -> None:
    x = np.linspace(0, 1, 50)
    depth, slope = depth_below_hull(x, 1 - x**4)
    assert depth == pytest.approx(0, abs=1e-12)
    assert np.all(np.diff(slope) <= 1e-12)


def test_depth_of_a_notch() -> None:
    x = np.array([0.0, 1.0, 2.0, 3.0, 4.0])
    depth, _ = depth_below_hull(x, np.array([10.0, 10.0, 6.0, 9.0, 8.0]))
    assert depth == pytest.approx([0, 0, 3.5, 0, 0])


@pytest.mark.parametrize(("limited", "fraction"), [(3, 0.3), (6, 0.6), (10, 0.8)])
def test_stairs_without_a_prediction(limited: int, fraction: float) -> None:
    v, i = sweep(limited, fraction)
    reading = read_without_prediction(v, i, find_key_points(v, i).values, 30)
    assert [s.bypass_groups for s in reading.stairs] == [limited]
    assert reading.stairs[0].current_fraction == pytest.approx(fraction, abs=0.03)
    assert "shape" in reading.signatures[0].text


def test_a_sound_sweep_has_none() -> None:
    v, i = sweep(0, 1.0)
    reading = read_without_prediction(v, i, find_key_points(v, i).values, 30)
    assert reading.signatures == ()
    assert reading.remarks == ()


def test_growing_light_is_said() -> None:
    v, i = sweep(0, 1.0)
    i = i * (0.9 + 0.1 * v / v[-1])
    points = KeyPoints(float(i[0]), float(v[-1]), 6.0, 400.0, 2400.0, 0.7)
    reading = read_without_prediction(v, i, points, 30)
    assert reading.signatures == ()
    assert "light grew" in reading.remarks[0]


def test_groups_are_guessed_from_the_voltage_and_said() -> None:
    v, i = sweep(3, 0.5)
    reading = read_without_prediction(v, i, find_key_points(v, i).values)
    assert reading.bypass_groups == pytest.approx(30, abs=3)
    assert "not known" in reading.remarks[0]


def test_what_needs_a_prediction_is_not_told_by_a_lone_curve() -> None:
    v, i = sweep(3, 0.5)
    reading = read_without_prediction(v, i, find_key_points(v, i).values, 30)
    untold = (
        reading.current_scale,
        reading.predicted_p_mp,
        reading.roughness,
        reading.voltage.lost,
        reading.voltage.probability_healthy,
        reading.voltage.kelvin,
    )
    assert np.isnan(untold).all()
    assert not reading.voltage.significant


def test_a_lone_curve_is_read_with_its_modules_bypass_diodes(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    told: list[int] = []
    read = curve_alone.read_signatures

    def noted(given: list) -> list:
        told.extend(one.bypass_diodes for one in given)
        return read(given)

    monkeypatch.setattr(curve_alone, "read_signatures", noted)
    v, i = sweep(3, 0.5)
    read_without_prediction(v, i, find_key_points(v, i).values, 30, bypass_diodes=6)
    assert told == [6]

"""Staircases of known steps, read from the voltage that lacks; pvlib makes the curves."""

import numpy as np
import pytest

from tests.analysis.signatures.made_problems import GROUPS, problem
from viewer.analysis.signatures import stair_search
from viewer.analysis.signatures.stair_search import (
    Deficit,
    measured_scale,
    read_deficit,
    stairs_are_plain,
    voltage_at_levels,
)
from viewer.analysis.string_fit.signature_fit import Sweep


def readings(levels: list[float], scale: float = 1.0, present: float = 1.0) -> list[Deficit]:
    made = problem(levels, noise=0.0005)
    return list(read_deficit(made.reference, made.sweep, GROUPS, scale, present))


def stairs(reading: Deficit) -> list[tuple[float, float]]:
    """Fractions and groups, the deepest first."""
    return sorted((one.fraction, one.share * GROUPS) for one in reading.stairs)


def test_a_staircase_of_two() -> None:
    first = readings([0.4] * 3 + [0.7] * 5 + [1.0] * 28)[0]
    (low, few), (high, more) = stairs(first)
    assert (low, high) == (pytest.approx(0.4, abs=0.02), pytest.approx(0.7, abs=0.02))
    assert (few, more) == (pytest.approx(3, abs=0.5), pytest.approx(5, abs=0.7))
    # the largest gain first
    assert first.stairs[0].fraction == high
    gains = [one.gain for one in first.stairs]
    assert gains == sorted(gains, reverse=True)


def test_fractions_are_of_the_strings_own_current() -> None:
    dirty = readings([0.8 * level for level in [0.5] * 6 + [1.0] * 30], scale=0.8)[0]
    ((fraction, groups),) = stairs(dirty)
    assert fraction == pytest.approx(0.5, abs=0.02)
    assert groups == pytest.approx(6, abs=0.7)


def test_lost_groups_are_no_stair_if_they_are_known() -> None:
    left = [0.5] * 6 + [1.0] * 26
    known = readings(left, present=32 / GROUPS)[0]
    assert stairs(known) == [(pytest.approx(0.5, abs=0.02), pytest.approx(6, abs=0.7))]
    assert abs(known.shift) < 0.004
    a_little_less = readings(left, present=32 / GROUPS + 0.01)[0]
    assert a_little_less.shift - known.shift == pytest.approx(-0.01, abs=0.003)
    # if they are not, they are groups that carry nothing
    (nothing, lost), _ = stairs(readings(left)[0])
    assert nothing < 0.05
    assert lost == pytest.approx(4, abs=0.7)


def test_a_sound_string_has_none() -> None:
    assert readings([1.0] * GROUPS) == []


def test_each_reading_once_by_whole_groups_and_by_few_cells() -> None:
    one = readings([0.5] * 6 + [1.0] * 30)
    cells = [[stair.cells for stair in reading.stairs] for reading in one]
    assert len(cells) == 2
    assert min(cells[0]) > 0.2 > max(cells[1])


def test_many_stairs_are_looked_for_where_they_are_plain(monkeypatch: pytest.MonkeyPatch) -> None:
    levels = [0.3] * 3 + [0.43] * 3 + [0.56] * 3 + [0.7] * 3 + [0.84] * 3 + [1.0] * 21
    assert max(len(reading.stairs) for reading in readings(levels)) >= 5
    assert stairs_are_plain(problem(levels, noise=0.0005).sweep)
    assert not stairs_are_plain(problem([0.5] * 6 + [1.0] * 30, noise=0.0005).sweep)
    monkeypatch.setattr(stair_search, "stairs_are_plain", lambda sweep: False)
    assert max(len(reading.stairs) for reading in readings(levels)) <= 4


def test_the_scale_is_the_middle_of_the_first_currents() -> None:
    """Of as many as tell, whatever a few of them say."""
    current = np.concatenate(([0.2, 1.4], np.full(98, 0.9)))
    sweep = Sweep(np.linspace(0.0, 1.0, 100), current, np.ones(100), 1e-3, 1e-3)
    assert measured_scale(sweep) == 0.9


def test_noise_does_not_make_the_voltage_go_back() -> None:
    """Sorted currents give a voltage for every level, that of the sound curve on the mean."""
    voltage = np.linspace(0.0, 1.0, 400)
    noise = 0.01 * np.random.default_rng(3).standard_normal(400)
    sweep = Sweep(voltage, 1.0 - voltage + noise, np.ones(400), 1e-3, 1e-2)
    levels = np.linspace(0.05, 0.95, 50)
    read = voltage_at_levels(sweep, levels)
    assert np.all(np.diff(read) <= 0.0)
    assert read == pytest.approx(1.0 - levels, abs=0.01)

"""Sensor or string: robust statistics over a combiner's strings and their order in time."""

from dataclasses import replace
from datetime import datetime, timedelta

import numpy as np
import pytest

from viewer.analysis.causes.neighbours import (
    StringDeviation,
    neighbour_evidences,
    robust_centre,
)

START = datetime(2030, 6, 1, 10, 0)


def strings(count: int = 12, current: float = 0.0, voltage: float = 0.0) -> list[StringDeviation]:
    rng = np.random.default_rng(5)
    return [
        StringDeviation(
            f"S{k}",
            current + 0.006 * rng.standard_normal(),
            voltage + 0.003 * rng.standard_normal(),
            measured_at=START + timedelta(minutes=3 * k),
        )
        for k in range(count)
    ]


def test_common_shift_is_the_reading() -> None:
    group = strings(current=-0.10, voltage=0.03)
    evidence = neighbour_evidences(group)[4]
    assert evidence.neighbours == 11
    assert evidence.current_is_common
    assert evidence.voltage_is_common
    assert evidence.current_told.startswith("Most strings of the combiner are alike: 11 others")
    assert "% in voltage (median)" in evidence.voltage_told


def test_one_string_alone_is_a_fault() -> None:
    group = strings()
    group[4] = StringDeviation("S4", -0.10, -0.03, measured_at=group[4].measured_at)
    evidence = neighbour_evidences(group)[4]
    assert not evidence.current_is_common
    assert not evidence.voltage_is_common
    assert evidence.own_current == pytest.approx(-0.10, abs=0.01)
    assert evidence.own_voltage_spreads < -5
    assert evidence.current_told.startswith("This string is apart from most")
    assert "this string by -10.0 %" in evidence.current_told


def test_outliers_among_the_neighbours_do_not_matter() -> None:
    group = strings()
    group[0] = StringDeviation("S0", -0.9, -0.5, measured_at=START)
    group[1] = StringDeviation("S1", 0.7, 0.4, measured_at=START)
    evidence = neighbour_evidences(group)[5]
    assert evidence.common_current == pytest.approx(0.0, abs=0.01)
    assert not evidence.current_is_common


def test_strings_of_another_hour_do_not_count() -> None:
    group = strings(4, current=-0.1)
    late = [
        StringDeviation(f"L{k}", 0.0, 0.0, measured_at=START + timedelta(hours=3))
        for k in range(20)
    ]
    evidence = neighbour_evidences(group + late)[0]
    assert evidence.neighbours == 3


def test_traces_of_one_string_are_no_neighbours_of_each_other() -> None:
    repeats = [replace(one, string="S0") for one in strings(4, current=-0.12)]
    assert neighbour_evidences(repeats)[0].neighbours == 0


def test_of_another_string_the_trace_nearest_in_time_speaks() -> None:
    """S0 was traced at 0, 3 and 6 min, dirty and then cleaned; S1 to S3 after it."""
    group = strings(6)
    group[:3] = [
        replace(one, string="S0", current=-0.2 if k < 2 else -0.1, has_steps=True)
        for k, one in enumerate(group[:3])
    ]
    found = neighbour_evidences(group)[3]
    assert found.neighbours == 3
    assert found.strings_with_steps == 1
    others = [group[k].current for k in (2, 4, 5)]
    assert found.common_current == pytest.approx(np.median(others))


@pytest.mark.parametrize(("stairs", "many"), [(1, False), (2, False), (3, False), (4, True)])
def test_stairs_of_a_third_of_the_neighbours_are_many(stairs: int, many: bool) -> None:
    group = [replace(one, has_steps=0 < k <= stairs) for k, one in enumerate(strings(12))]
    assert neighbour_evidences(group)[0].many_have_steps is many


def test_one_of_two_neighbours_is_not_many() -> None:
    group = [replace(one, has_steps=k == 1) for k, one in enumerate(strings(3))]
    assert not neighbour_evidences(group)[0].many_have_steps


def test_too_few_neighbours_prove_nothing() -> None:
    group = strings(3, current=-0.2)
    evidence = neighbour_evidences(group)[0]
    assert not evidence.enough
    assert not evidence.current_is_common


def test_robust_centre_by_hand() -> None:
    """Median and 1.4826 times the median absolute deviation, worked by hand for five values."""
    centre, spread = robust_centre(np.array([1.0, 2.0, 3.0, 4.0, 100.0]), 0.0)
    assert centre == 3.0
    assert spread == pytest.approx(np.hypot(1.4826, 1.25 * 1.4826 / np.sqrt(5)))
    assert robust_centre(np.array([]), 0.01) == (0.0, 0.01)


def detached(lost_after: float = 0.0) -> list[StringDeviation]:
    """The temperature sensor comes off after the tenth of twenty strings: 3 % less voltage."""
    rng = np.random.default_rng(8)
    return [
        StringDeviation(
            f"S{k}",
            0.0,
            (-0.03 if k >= 10 else 0.0)
            + (lost_after if k == 14 else 0.0)
            + 0.001 * rng.standard_normal(),
            measured_at=START + timedelta(minutes=2 * k),
        )
        for k in range(20)
    ]


@pytest.mark.parametrize("place", [3, 9, 10, 12, 19])
def test_strings_after_a_sensor_came_off_deviate_alike(place: int) -> None:
    found = neighbour_evidences(detached())[place]
    assert not found.voltage_outlies
    assert found.common_voltage == pytest.approx(-0.03 if place >= 10 else 0.0, abs=0.003)


def test_a_lost_group_shows_beside_them() -> None:
    found = neighbour_evidences(detached(lost_after=-0.02))
    assert found[14].voltage_outlies
    assert found[14].own_voltage == pytest.approx(-0.02, abs=0.003)
    assert [place for place, one in enumerate(found) if one.voltage_outlies] == [14]


def test_without_times_none_is_next_to_another() -> None:
    """Nor is one without a time next to the only one that has one: all others count."""
    timed = detached(lost_after=-0.02)
    untimed = [replace(one, measured_at=None) for one in timed]
    for strings in (untimed, [timed[14] if k == 14 else one for k, one in enumerate(untimed)]):
        others = [one.voltage for k, one in enumerate(strings) if k != 14]
        assert neighbour_evidences(strings)[14].common_voltage == np.median(others)


def test_the_last_string_of_a_drift_is_no_outlier() -> None:
    """A temperature that was read once: the voltage falls behind by 2 % an hour."""
    rng = np.random.default_rng(3)
    drifting = [
        StringDeviation(
            str(k),
            0.0,
            -0.02 * k / 20.0 + 0.001 * rng.standard_normal(),
            measured_at=START + timedelta(minutes=3 * k),
        )
        for k in range(15)
    ]
    last = neighbour_evidences(drifting)[-1]
    assert not last.voltage_outlies
    lost = drifting[-1]
    drifting[-1] = StringDeviation(
        lost.string, 0.0, lost.voltage - 0.03, measured_at=lost.measured_at
    )
    assert neighbour_evidences(drifting)[-1].voltage_outlies

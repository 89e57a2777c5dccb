"""Points in any state brought into order, or refused in one sentence."""

import numpy as np
import pytest

from viewer.physics.sweep_cleaning import UnusableSweepError, clean_sweep


def test_points_come_back_by_rising_voltage() -> None:
    voltage, current, remarks = clean_sweep([3.0, 1.0, 2.0, 0.0], [0.1, 0.9, 0.6, 1.0])
    assert voltage.tolist() == [0.0, 1.0, 2.0, 3.0]
    assert current.tolist() == [1.0, 0.9, 0.6, 0.1]
    assert remarks == ()


def test_repeated_points_count_once_and_currents_at_one_voltage_are_averaged() -> None:
    voltage, current, _ = clean_sweep(
        [0.0, 1.0, 1.0, 1.0, 2.0, 2.0], [1.0, 0.8, 0.6, 0.6, 0.2, 0.2]
    )
    assert voltage.tolist() == [0.0, 1.0, 2.0]
    assert current == pytest.approx([1.0, 0.7, 0.2])


def test_points_that_are_no_numbers_are_left_out_and_counted() -> None:
    voltage, _, remarks = clean_sweep([0.0, np.nan, 2.0, 3.0, np.inf], [1.0, 1.0, 0.5, 0.1, 0.0])
    assert voltage.tolist() == [0.0, 2.0, 3.0]
    assert remarks == ("2 points are not a number and left out.",)


def test_load_convention_is_turned_over_and_said() -> None:
    _, current, remarks = clean_sweep([0.0, 1.0, 2.0, 3.0], [-1.0, -0.9, -0.5, 0.0])
    assert current.tolist() == [1.0, 0.9, 0.5, 0.0]
    assert "sign" in remarks[0]


def test_currents_below_zero_beyond_open_circuit_keep_their_sign() -> None:
    _, current, remarks = clean_sweep([0.0, 1.0, 2.0, 3.0], [1.0, 0.9, 0.5, -0.4])
    assert current[-1] == -0.4
    assert remarks == ()


@pytest.mark.parametrize(
    ("voltage", "current", "part"),
    [
        ([], [], "no usable point"),
        ([1.0], [1.0], "1 voltages only"),
        ([5.0, 5.0, 5.0, 5.0], [1.0, 2.0, 3.0, 4.0], "1 voltages only"),
        ([0.0, 1.0, np.nan], [1.0, 0.5, 0.2], "2 voltages only"),
        ([0.0, 1.0, 2.0], [1.0, 0.5], "3 voltages but 2 currents"),
    ],
)
def test_what_is_no_sweep_is_refused_in_one_sentence(
    voltage: list[float], current: list[float], part: str
) -> None:
    with pytest.raises(UnusableSweepError, match=part):
        clean_sweep(voltage, current)

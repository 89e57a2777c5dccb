"""What a voltage off its prediction may mean, weighed."""

import pytest

from viewer.analysis.signatures.voltage_reading import read_voltage

PER_KELVIN = -0.0029


def test_modules_delivered_a_little_above_their_datasheet_are_no_wrong_temperature() -> None:
    above = read_voltage(-0.015, 0.0045, 60, 3, PER_KELVIN)
    assert not above.significant
    far_above = read_voltage(-0.035, 0.0045, 60, 3, PER_KELVIN)
    assert far_above.significant
    assert far_above.kelvin == pytest.approx(-12.1, abs=0.1)


def test_as_much_below_is_told() -> None:
    assert read_voltage(1.0 / 60, 0.0045, 60, 3, PER_KELVIN).significant


@pytest.mark.parametrize("lost", [2, 30, 33, 48, 57, 59])
def test_any_number_of_lost_groups_is_told(lost: int) -> None:
    reading = read_voltage(lost / 60, 0.004, 60, 3, PER_KELVIN)
    assert reading.significant
    assert reading.groups_lead
    assert reading.groups == lost


def test_two_of_the_three_groups_of_a_module() -> None:
    reading = read_voltage(0.66, 0.004, 3, 3, PER_KELVIN)
    assert reading.significant
    assert reading.groups == 2


@pytest.mark.parametrize("lost", [-0.9, -0.43])
def test_what_no_story_explains_is_still_not_sound(lost: float) -> None:
    reading = read_voltage(lost, 0.004, 60, 3, PER_KELVIN)
    assert reading.significant
    assert not reading.groups_lead
    assert reading.probability_temperature == pytest.approx(1.0)

"""What the sentences of signatures say at their limits."""

import math
from dataclasses import replace

import pytest

from tests.analysis.causes.made_visits import analysed, traced
from viewer.analysis.signatures.signature_words import (
    TOO_FAR,
    low_voltage,
    low_voltage_beside,
    power,
    slope_near_isc,
    wrong_temperature,
)
from viewer.analysis.signatures.voltage_reading import VoltageReading, read_voltage

SEVERAL = VoltageReading(0.05, 0.004, 3, 0.0, 1.0, 0.0, 17.0, (2, 4))
PER_KELVIN = -0.003


def _other(lost: float, uncertainty: float = 0.0035) -> VoltageReading:
    return read_voltage(lost, uncertainty, 60, 3, PER_KELVIN)


def test_a_range_of_lost_groups_is_told_of_groups_rather_than_of_modules() -> None:
    alone = low_voltage(40.0, SEVERAL, 3, 3, 200.0, 5000.0).text
    assert "as three bypass groups (likely 2 to 4) lost would take, the voltage of one" in alone
    beside = low_voltage_beside(40.0, SEVERAL, 200.0, 5000.0).text
    assert "as three bypass groups (likely 2 to 4) lost would take;" in beside


@pytest.mark.parametrize(
    ("conductance", "told", "size"),
    [(3.0, "0.33 ohm", 0.33), (400.0, "0.0025 ohm", 0.0025), (0.25, "4 ohm", 4.0)],
)
def test_a_path_of_less_than_an_ohm_is_not_none(conductance: float, told: str, size: float) -> None:
    signature = slope_near_isc(conductance, 1, 0.3, 40.0, 350.0)
    assert f"a path of {told} parallel" in signature.text
    assert signature.size == size


def test_power_that_is_little_or_of_nothing_known() -> None:
    assert power(0.2, 5000.0) == "less than 1 W of 5.0 kW"
    assert power(10.0, math.nan) == "10 W"
    assert power(310.0, 9800.0) == "310 W of 9.8 kW"


def test_a_module_more_than_listed_is_said_beside_colder_cells() -> None:
    assert "One module more in series" in wrong_temperature(_other(-0.0495), 20).text
    assert "Two modules more in series" in wrong_temperature(_other(-0.101), 20).text
    for lost in (-0.026, -0.07, 0.05):
        assert "more in series" not in wrong_temperature(_other(lost), 20).text


@pytest.mark.parametrize(("lost", "too_far"), [(-0.08, False), (-0.1, True), (0.1, True)])
def test_what_is_too_much_for_a_temperature_reading(lost: float, too_far: bool) -> None:
    assert (TOO_FAR in wrong_temperature(_other(lost), 20).text) is too_far


def test_a_large_loss_of_no_whole_groups_is_not_laid_to_warmer_cells() -> None:
    for kelvin, why in ((20.0, "warmer cells"), (45.0, "of no whole number of bypass groups")):
        none = VoltageReading(0.003 * kelvin, 0.001, 0, 0.0, 0.0, 1.0, kelvin)
        assert why in low_voltage(90.0, none, 0, 3, 800.0, 5000.0).text


def test_twenty_one_modules_where_twenty_are_listed() -> None:
    twenty = traced("S1")
    (found,) = analysed(replace(twenty, voltage=twenty.voltage * 21.0 / 20.0))
    assert "One module more in series than listed" in found.signatures[0].text

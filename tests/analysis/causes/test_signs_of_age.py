"""Age, told from three faults at once."""

from dataclasses import replace

import pytest

from tests.analysis.causes.made_readings import reading
from viewer.analysis.causes.causes import rank_causes
from viewer.analysis.signatures.signature_reading import SignatureReading
from viewer.analysis.signatures.signature_words import (
    low_current,
    low_voltage,
    slope_near_isc,
    slope_near_voc,
)
from viewer.analysis.signatures.voltage_reading import read_voltage


def worse_in_all(voltage_lost: float, series_watt: float = 200.0) -> SignatureReading:
    """A current 11 % low, a voltage of about three groups lost, more resistance; of 5 kW."""
    voltage = read_voltage(voltage_lost, 0.004, 60, 3, -0.0029)
    return reading(
        signatures=(
            low_current(0.11, 0.02, 400.0, 5000.0),
            low_voltage(40.0, voltage, voltage.groups, 3, 210.0, 5000.0),
            slope_near_voc(3.4, 0.7, series_watt, 5000.0),
        ),
        voltage=voltage,
        current_scale=0.89,
        losses={"low_current": 400.0, "low_voltage": 210.0, "slope_near_voc": series_watt},
    )


@pytest.mark.parametrize("voltage_lost", [0.03, 0.047, 0.055])
def test_current_voltage_and_resistance_all_worse_are_one_age(voltage_lost: float) -> None:
    assert rank_causes(worse_in_all(voltage_lost))[0].cause == "degradation"


def test_a_leak_beside_all_of_these_is_age_too() -> None:
    three = worse_in_all(0.04)
    leak = slope_near_isc(0.001, 60, 0.1, 900.0, 5000.0)
    four = replace(
        three,
        signatures=(*three.signatures, leak),
        losses={**three.losses, "slope_near_isc": 900.0},
    )
    assert rank_causes(four)[0].cause == "degradation"
    alone = reading(signatures=(leak,), losses={"slope_near_isc": 900.0})
    assert rank_causes(alone)[0].cause == "shunt"


def test_more_than_age_takes_is_three_faults() -> None:
    assert rank_causes(worse_in_all(0.085))[0].cause != "degradation"
    assert rank_causes(worse_in_all(0.047, series_watt=450.0))[0].cause != "degradation"


def test_two_of_the_three_leave_the_lost_groups() -> None:
    three = worse_in_all(0.047)
    two = replace(
        three,
        signatures=three.signatures[:2],
        losses={kind: watt for kind, watt in three.losses.items() if kind != "slope_near_voc"},
    )
    causes = {one.cause: one.likelihood for one in rank_causes(two)}
    assert causes["bypass_short"] + causes["module_missing"] > causes["degradation"]

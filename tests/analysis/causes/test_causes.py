"""The order of candidate causes, and what is said where nothing is found."""

from dataclasses import replace

import pytest

from tests.analysis.causes.made_readings import (
    SOUND_VOLTAGE,
    reading,
)
from viewer.analysis.causes.cause_context import CauseContext
from viewer.analysis.causes.causes import rank_causes
from viewer.analysis.signatures.signature_reading import SignatureReading, StairReading
from viewer.analysis.signatures.signature_words import (
    low_current,
    low_voltage,
    slope_near_voc,
    step,
)
from viewer.analysis.signatures.voltage_reading import read_voltage


def test_nothing_found() -> None:
    causes = rank_causes(reading())
    assert [c.cause for c in causes] == ["none"]
    assert causes[0].likelihood > 0.9


@pytest.mark.parametrize(
    ("curve_decides", "lacking"),
    [
        (("temperature_cell",), "without a temperature reading"),
        (("poa_global",), "without an irradiance reading"),
        (("poa_global", "temperature_cell"), "an irradiance reading and a temperature reading"),
    ],
)
def test_no_fault_is_less_sure_where_the_curve_stood_in_for_a_reading(
    curve_decides: tuple[str, ...], lacking: str
) -> None:
    none = rank_causes(reading(), CauseContext(curve_decides=curve_decides))[0]
    assert (none.cause, none.likelihood) == ("none", 0.6)
    assert lacking in none.evidence
    assert "Trace it again" in none.next_check


def test_no_fault_is_likelier_than_not_where_no_deviation_is_told() -> None:
    doubtful = replace(SOUND_VOLTAGE, probability_healthy=0.4)
    assert rank_causes(reading(voltage=doubtful))[0].likelihood == 0.6


def test_a_sweep_in_moving_light_that_shows_nothing() -> None:
    only = rank_causes(reading(), CauseContext(irradiance_unsteady=True))
    assert [(one.cause, one.likelihood) for one in only] == [("irradiance_input", 0.5)]


def contacts(loss: float) -> SignatureReading:
    """Dirt of 12 % that costs 600 W, beside a resistance that costs `loss` W."""
    both = (low_current(0.12, 0.02, 600.0, 5000.0), slope_near_voc(4.0, 0.8, loss, 5000.0))
    return reading(
        signatures=both,
        current_scale=0.88,
        losses={"low_current": 600.0, "slope_near_voc": loss},
    )


@pytest.mark.parametrize(("loss", "first"), [(250.0, "soiling"), (900.0, "series_resistance")])
def test_of_likely_causes_the_costliest_is_first(loss: float, first: str) -> None:
    """Both are there; that a resistance is told more surely than dirt is no reason to lead."""
    causes = rank_causes(contacts(loss))
    assert causes[0].cause == first
    resistance, dirt = (
        next(one for one in causes if one.cause == name)
        for name in ("series_resistance", "soiling")
    )
    assert resistance.likelihood > dirt.likelihood


def test_an_unlikely_cause_does_not_lead_for_what_it_would_cost() -> None:
    """A module mismatch behind a deep stair costs a lot if it is there, which it hardly is."""
    stair = StairReading(4, 0.3, 52.0, 0.9, 3000.0)
    causes = rank_causes(
        reading(
            signatures=(step(0.3, 52.0, 4, 3000.0, 5000.0), slope_near_voc(4.0, 0.8, 60.0, 5000.0)),
            stairs=(stair,),
            losses={"step": 3000.0, "slope_near_voc": 60.0},
        )
    )
    names = [one.cause for one in causes]
    assert names[:2] == ["shading", "series_resistance"]
    assert "module_mismatch" in names


def test_a_loss_that_two_causes_may_explain_is_not_halved() -> None:
    """Low current that costs 600 W leads before a lost module that costs 590, though it is less
    surely dirt than the other is a module."""
    voltage = read_voltage(3.0 / 60.0, 0.004, 60, 3, -0.0029)
    causes = rank_causes(
        reading(
            signatures=(
                low_current(0.12, 0.02, 600.0, 5000.0),
                low_voltage(40.0, voltage, voltage.groups, 3, 590.0, 5000.0),
            ),
            current_scale=0.88,
            voltage=voltage,
            losses={"low_current": 600.0, "low_voltage": 590.0},
        )
    )
    first, second = causes[:2]
    assert (first.cause, second.cause) == ("soiling", "module_missing")
    assert second.likelihood > first.likelihood
    assert second.likelihood * 590.0 > first.likelihood * 600.0

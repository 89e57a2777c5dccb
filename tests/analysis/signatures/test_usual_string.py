"""How unusual a string's numbers are: each number alone, by hand."""

from dataclasses import replace

import numpy as np
import pytest

from tests.analysis.signatures.made_problems import GROUPS, KNOWN
from viewer.analysis.signatures.usual_string import (
    KNEE_TO_SERIES,
    LIGHT_PER_KNEE,
    USUAL_GAIN,
    USUAL_KNEE,
    USUAL_LEAK,
    UsualString,
    usual_string,
)
from viewer.analysis.signatures.voltage_reading import USUAL_SERIES
from viewer.analysis.string_fit.reduced_string import KNEE, LEAK, SERIES, SHIFT, start_vector

SUN, SHADE = replace(KNOWN, irradiance=1000.0), replace(KNOWN, irradiance=400.0)


def sound(**moved: float) -> np.ndarray:
    """A usual string in full sun without a bend, some of its numbers moved."""
    vector = start_vector()
    vector[[SHIFT, SERIES, LEAK]] = USUAL_GAIN, USUAL_SERIES, USUAL_LEAK
    places = {"shift": SHIFT, "series": SERIES, "leak": LEAK, "knee": KNEE}
    for name, by in moved.items():
        vector[places[name]] += by
    return vector


@pytest.fixture
def usual() -> UsualString:
    return usual_string(GROUPS, SUN)


def test_a_usual_string_costs_nothing(usual: UsualString) -> None:
    assert usual.price(sound(), 1.0) == pytest.approx(0.0, abs=0.1)


def test_lost_groups_cost_what_they_are_rare_by(usual: UsualString) -> None:
    """As absent groups or as voltage, whichever way the fit has them."""
    for lost in (1, 2, 3, 10):
        expected = usual.price_of_lost(lost)
        assert usual.price(sound(), 1.0 - lost / GROUPS) == pytest.approx(expected, abs=0.1)
        assert usual.price(sound(shift=-lost / GROUPS), 1.0) == pytest.approx(expected, abs=0.1)
    # rarer the more they are, but whole modules are lost more often
    one, two, three = (usual.price_of_lost(lost) for lost in (1, 2, 3))
    assert usual.price_of_lost(0) == 0.0
    assert 0.0 < one < two
    assert three < two
    assert usual.price_of_lost(4) > usual.price_of_lost(3)


def test_half_a_group_is_stranger_than_one(usual: UsualString) -> None:
    half = usual.price(sound(shift=-0.5 / GROUPS), 1.0)
    assert half > usual.price(sound(shift=-1.0 / GROUPS), 1.0) + 1.0
    # but within a wrong temperature, as every voltage that is no whole number of groups
    assert half < 12.0
    assert usual.price(sound(shift=0.02), 1.0) < 12.0


def test_a_fault_adds_resistance_and_leak_and_never_takes_any(usual: UsualString) -> None:
    for name, much in (("series", 0.05), ("leak", 0.1)):
        more, less = (usual.price(sound(**{name: sign * much}), 1.0) for sign in (1.0, -1.0))
        assert 3.0 < more < less - 3.0


def test_numbers_within_their_spread_are_common(usual: UsualString) -> None:
    for name, spread in (("shift", usual.voltage), ("series", usual.series), ("leak", usual.leak)):
        below, above = (usual.price(sound(**{name: sign * spread}), 1.0) for sign in (-1.0, 1.0))
        assert below == pytest.approx(1.0, abs=0.15)
        assert 0.6 < above < 1.15


def test_what_the_knee_accounts_for_is_no_resistance(usual: UsualString) -> None:
    bent = sound(knee=-0.2, series=0.2 * KNEE_TO_SERIES)
    assert usual.extra_series(bent) == pytest.approx(USUAL_SERIES)
    assert usual.lost(bent, 1.0) == pytest.approx(0.0)
    # in less light a bend goes with less resistance, and with voltage
    dim = usual_string(GROUPS, SHADE)
    assert dim.extra_series(bent) - USUAL_SERIES == pytest.approx(0.6 * 0.2 * KNEE_TO_SERIES)
    assert dim.lost(bent, 1.0) == pytest.approx(-0.2 * LIGHT_PER_KNEE * np.log(0.4))


def test_irradiance_that_is_not_told_moves_no_voltage() -> None:
    untold = usual_string(GROUPS, KNOWN)
    assert untold.lost(sound(knee=-0.2), 1.0) == pytest.approx(0.0)
    assert untold.extra_series(sound(knee=-0.2)) == pytest.approx(
        USUAL_SERIES - 0.2 * 0.75 * KNEE_TO_SERIES
    )


def test_the_spread_of_voltage_is_that_of_its_inputs() -> None:
    """A kelvin, the prediction's, and the modules' divided by the root of their number."""
    given = KNOWN.uncertainty
    for groups, modules in ((GROUPS, GROUPS / 3), (2, 1)):
        variance = (
            (given.temperature * given.voltage_per_kelvin) ** 2
            + given.module_voltage**2 / modules
            + given.prediction_voltage**2
        )
        assert usual_string(groups, SUN).voltage == pytest.approx(np.sqrt(variance))


@pytest.mark.parametrize("situation", [SUN, SHADE])
@pytest.mark.parametrize("lost", [None, 0, 2])
@pytest.mark.parametrize("series", [0.004, 0.05])
def test_ties_lead_to_a_usual_string(situation: object, lost: int | None, series: float) -> None:
    usual = usual_string(GROUPS, situation)
    vector = sound(shift=-1.1 / GROUPS, series=series, leak=0.01, knee=0.03)
    rows, values = usual.ties(vector, 1.0, lost)
    there = vector + np.linalg.lstsq(rows, values, rcond=None)[0]
    groups = 1 if lost is None else lost
    assert usual.lost(there, 1.0) * GROUPS == pytest.approx(groups)
    assert usual.extra_series(there) == pytest.approx(USUAL_SERIES)
    assert there[LEAK] == pytest.approx(USUAL_LEAK)
    assert there[KNEE] == pytest.approx(USUAL_KNEE)


def test_ties_are_loose_where_there_is_a_fault(usual: UsualString) -> None:
    def tightness(**moved: float) -> np.ndarray:
        return np.abs(usual.ties(sound(**moved), 1.0)[0]).max(axis=1)

    tight = tightness()
    assert tight[:3] == pytest.approx([1 / usual.voltage, 1 / usual.series, 1 / usual.leak])
    assert tightness(shift=-0.5 / GROUPS)[0] == pytest.approx(1 / usual.wrong_voltage)
    assert tightness(series=0.05)[1] < 0.2 * tight[1]
    assert tightness(leak=0.1)[2] < 0.2 * tight[2]
    # of a number of groups that is asked for the voltage is held as tight as ever
    asked = usual.ties(sound(shift=-0.5 / GROUPS), 1.0, 1)[0]
    assert np.abs(asked[0]).max() == pytest.approx(tight[0])


def test_a_leak_beyond_the_usual_may_be_unequal_modules(usual: UsualString) -> None:
    assert not usual.may_be_unequal(sound(leak=1.9 * usual.leak))
    assert usual.may_be_unequal(sound(leak=2.1 * usual.leak))

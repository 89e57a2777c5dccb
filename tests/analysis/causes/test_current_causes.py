"""Dirt, age or a wrong reading: what evidence beside the curve changes."""

from dataclasses import replace

import pytest

from tests.analysis.causes.made_readings import (
    likelihood,
    lost_groups,
    neighbours,
    one_stair,
    reading,
    soiled,
)
from viewer.analysis.causes.cause_context import CauseContext
from viewer.analysis.causes.causes import rank_causes
from viewer.analysis.causes.neighbours import NeighbourEvidence
from viewer.analysis.signatures.signature_words import (
    slope_near_voc,
    wrong_irradiance,
)
from viewer.analysis.signatures.voltage_reading import read_voltage

CLEANED = "Cleaned this morning"


def test_low_current_names_all_three_and_says_so() -> None:
    causes = rank_causes(soiled())
    assert [c.cause for c in causes] == ["soiling", "irradiance_input", "degradation"]
    assert causes[0].likelihood < 0.6
    assert "cannot tell" in causes[0].against


def test_more_than_dirt_and_age_take_is_named_so() -> None:
    assert rank_causes(soiled(0.29))[0].cause == "soiling"
    for lost in (0.5, 0.7, 0.97):
        alone = rank_causes(soiled(lost))
        assert alone[0].cause == "irradiance_input"
        assert "too much for dirt or age" in alone[0].evidence
        assert likelihood(alone, "soiling") + likelihood(alone, "degradation") < 0.2
        beside = rank_causes(soiled(lost), CauseContext(neighbours=neighbours()))
        assert beside[0].cause == "shading"
    half = {one.cause: one for one in rank_causes(soiled(0.45))}
    assert "too much" in half["soiling"].against


@pytest.mark.parametrize(("lost", "aged"), [(0.12, True), (0.25, False)])
def test_age_takes_no_quarter_of_the_current(lost: float, aged: bool) -> None:
    rise = slope_near_voc(1.0, 0.2, 100.0, 5000.0)
    low = soiled(lost)
    both = replace(low, signatures=(*low.signatures, rise), losses={"slope_near_voc": 100.0})
    both_causes = rank_causes(both)
    assert (both_causes[0].cause == "degradation") is aged
    assert (likelihood(both_causes, "series_resistance") < 0.7) is aged
    small = read_voltage(0.02, 0.004, 60, 3, -0.0029)
    less = replace(lost_groups(small), current_scale=1.0 - lost)
    less = replace(less, signatures=(*less.signatures, *low.signatures))
    assert (likelihood(rank_causes(less), "degradation") > 0.5) is aged


@pytest.mark.parametrize(
    "beside",
    [
        replace(neighbours(), neighbours=2),
        replace(neighbours(), current_spread=0.08),
    ],
)
def test_neighbours_that_say_nothing_leave_it_open(beside: NeighbourEvidence) -> None:
    low = rank_causes(soiled(), CauseContext(neighbours=beside))
    assert all("One curve cannot tell" in one.against for one in low)
    stair = rank_causes(one_stair(), CauseContext(neighbours=beside))
    assert "One curve cannot tell" in stair[0].against
    clear = rank_causes(soiled(), CauseContext(neighbours=neighbours()))
    assert not any("One curve cannot tell" in one.against for one in clear)
    row = rank_causes(one_stair(), CauseContext(neighbours=neighbours(steps=6)))
    assert not any("One curve cannot tell" in one.against for one in row)


def test_neighbours_low_alike_point_to_the_sensor() -> None:
    causes = rank_causes(soiled(), CauseContext(neighbours=neighbours(current=-0.11)))
    assert causes[0].cause == "irradiance_input"


def test_neighbours_as_expected_clear_the_sensor() -> None:
    causes = rank_causes(soiled(), CauseContext(neighbours=neighbours()))
    assert causes[0].cause == "soiling"
    assert likelihood(causes, "irradiance_input") < 0.1


def test_an_excess_that_the_neighbours_lack_is_less_surely_the_reading() -> None:
    high = reading(signatures=(wrong_irradiance(0.07, 0.02),), current_scale=1.07)
    alone = rank_causes(high)[0]
    lacking = replace(neighbours(), own_current=0.07, own_current_spreads=7.0)
    beside = rank_causes(high, CauseContext(neighbours=lacking))[0]
    assert alone.cause == beside.cause == "irradiance_input"
    assert alone.likelihood > 0.9 > 0.75 > beside.likelihood
    assert "others deviate by +0.0 % in current (median), this string by +7.0 %" in beside.against
    shared = replace(lacking, common_current=0.07, own_current=0.0, own_current_spreads=0.0)
    assert rank_causes(high, CauseContext(neighbours=shared))[0].likelihood == alone.likelihood


def test_note_of_dirt_and_cleaning() -> None:
    assert likelihood(rank_causes(soiled(), CauseContext(note="heavy dust")), "soiling") > 0.7
    cleaned = {one.cause: one for one in rank_causes(soiled(), CauseContext(note=CLEANED))}
    assert cleaned["soiling"].likelihood < 0.2
    assert f'"{CLEANED}"' in cleaned["soiling"].against


def shares(**known: object) -> dict[str, float]:
    """Likelihoods of a current that is 12 % low, with what is known beside it."""
    causes = rank_causes(soiled(), CauseContext(**known))
    assert sum(one.likelihood for one in causes) == pytest.approx(0.96, abs=0.002)
    return {one.cause: one.likelihood for one in causes}


def test_neighbours_do_not_undo_what_is_known_of_the_string() -> None:
    """Each moves the odds: none takes the other's place."""
    cleaned = shares(note=CLEANED, neighbours=neighbours())
    assert cleaned["soiling"] < 0.3 < cleaned["degradation"]
    assert shares(note=CLEANED, neighbours=neighbours(current=-0.11))["soiling"] < 0.15
    dusty = shares(note="heavy dust", neighbours=neighbours(current=-0.11))
    assert dusty["soiling"] > dusty["irradiance_input"]
    assert shares(neighbours=neighbours(current=-0.11))["soiling"] < dusty["soiling"]


def test_an_irradiance_that_moved_in_the_sweep_is_not_cleared_by_the_neighbours() -> None:
    unsteady = shares(irradiance_unsteady=True)
    assert unsteady["irradiance_input"] > unsteady["soiling"]
    assert shares(irradiance_unsteady=True, neighbours=neighbours()) == unsteady
    assert shares(neighbours=neighbours())["irradiance_input"] < 0.1


def test_a_whole_combiner_may_be_older_sooner_than_one_of_its_strings() -> None:
    apart = shares(neighbours=replace(neighbours(current=-0.11), own_combiner=-0.10))
    alone = shares(neighbours=neighbours())
    assert apart["degradation"] > alone["degradation"] + 0.05
    assert apart["irradiance_input"] < 0.05


def test_neighbours_that_are_low_too_are_not_told_to_be_as_expected() -> None:
    """They are 6 % low, the string 12 %: half of it may be the reading."""
    low = {
        one.cause: one
        for one in rank_causes(soiled(), CauseContext(neighbours=neighbours(current=-0.06)))
    }
    assert "others deviate by -6.0 % in current (median), this string by -12.0 %" in (
        low["irradiance_input"].against
    )
    alone, fine = shares(), shares(neighbours=neighbours())
    between = low["irradiance_input"].likelihood
    assert fine["irradiance_input"] < between < alone["irradiance_input"]

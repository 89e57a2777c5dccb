"""Ranking of candidate causes: what evidence beside the curve changes."""

import re
from dataclasses import replace

import pytest

from viewer.analysis.causes.cause_context import CauseContext
from viewer.analysis.causes.cause_words import (
    EARTH_FAULT,
    NEXT_CHECKS,
    ON_GLASS,
    OPENED,
    PARTED,
    cause_name,
)
from viewer.analysis.causes.causes import rank_causes
from viewer.analysis.causes.neighbours import NeighbourEvidence
from viewer.analysis.results.trace_result import CAUSES, Signature
from viewer.analysis.signatures.signature_reading import SignatureReading, StairReading
from viewer.analysis.signatures.signature_words import (
    low_current,
    low_voltage,
    rounded_knee,
    slope_near_isc,
    slope_near_voc,
    step,
    wrong_irradiance,
)
from viewer.analysis.signatures.voltage_reading import VoltageReading, read_voltage

CLEANED = "Cleaned this morning"
SOUND_VOLTAGE = read_voltage(0.0, 0.004, 60, 3, -0.0029)


def reading(**changes: object) -> SignatureReading:
    """A reading that shows nothing, with changes."""
    plain = SignatureReading(
        signatures=(), explanation="as predicted", bypass_groups=60, current_scale=1.0,
        current_uncertainty=0.02, voltage=SOUND_VOLTAGE, extra_series=0.0,
        extra_series_uncertainty=0.4, extra_conductance=0.0, extra_conductance_uncertainty=1e-4,
        leaking_groups=0, current_spread=0.0, stairs=(), losses={}, p_mp=5000.0,
        predicted_p_mp=5000.0, roughness=1.0,
    )  # fmt: skip
    return replace(plain, **changes)


def one_stair(groups: int = 1, cells: float = 0.9, level: float = 0.4) -> SignatureReading:
    stair = StairReading(groups, level, 13.0 * groups, cells, 100.0 * groups)
    return reading(
        signatures=(step(level, 13.0 * groups, groups, 100.0 * groups, 5000.0),), stairs=(stair,)
    )


def soiled(lost: float = 0.12) -> SignatureReading:
    return reading(
        signatures=(low_current(lost, 0.02, lost * 5000.0, 5000.0),),
        current_scale=1.0 - lost,
        losses={"low_current": lost * 5000.0},
    )


def lost_groups(voltage: VoltageReading) -> SignatureReading:
    return reading(
        signatures=(low_voltage(40.0, voltage, voltage.groups, 3, 200.0, 5000.0),),
        voltage=voltage,
        losses={"low_voltage": 200.0},
    )


def neighbours(current: float = 0.0, voltage: float = 0.0, steps: int = 0) -> NeighbourEvidence:
    """Twelve neighbours with that median; the string itself deviates by -12 % and -5 %."""
    return NeighbourEvidence(
        12, current, voltage, -0.12 - current, -0.05 - voltage,
        (-0.12 - current) / 0.01, (-0.05 - voltage) / 0.004, steps,
    )  # fmt: skip


def likelihood(causes: tuple, name: str) -> float:
    return next((c.likelihood for c in causes if c.cause == name), 0.0)


def test_every_cause_has_words_and_a_check() -> None:
    assert len({cause_name(cause) for cause in CAUSES}) == len(CAUSES)
    assert all("_" not in cause_name(cause) for cause in CAUSES)
    assert set(NEXT_CHECKS) == set(CAUSES)


def test_a_cause_of_a_later_version_reads_as_it_is_stored() -> None:
    assert cause_name("arc_fault") == "arc_fault"


def test_nothing_found() -> None:
    causes = rank_causes(reading())
    assert [c.cause for c in causes] == ["none"]
    assert causes[0].likelihood > 0.9


def test_no_fault_is_no_word_on_what_a_curve_does_not_show() -> None:
    assert "does not show insulation" in rank_causes(reading())[0].next_check
    assert not any("nothing further is needed" in text.lower() for text in NEXT_CHECKS.values())


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


def test_one_stair_alone_leaves_shade_and_cell_open() -> None:
    causes = rank_causes(one_stair())
    assert {c.cause for c in causes[:2]} == {"shading", "cell_fault"}
    assert max(c.likelihood for c in causes) < 0.75
    assert "cannot tell" in causes[0].against


@pytest.mark.parametrize(
    ("context", "first"),
    [
        (CauseContext(same_stairs=True), "cell_fault"),
        (CauseContext(same_stairs=False), "shading"),
        (CauseContext(note="shadow of the tree to the west"), "shading"),
        (CauseContext(note="visible hot spot, cracked glass"), "cell_fault"),
        (CauseContext(neighbours=neighbours(steps=6)), "shading"),
    ],
)
def test_more_evidence_decides(context: CauseContext, first: str) -> None:
    causes = rank_causes(one_stair(), context)
    assert causes[0].cause == first
    assert causes[0].likelihood > 0.75


def test_a_stair_that_changed_is_not_told_as_gone() -> None:
    """It may be there at another level; and a repair between the traces changes it as well."""
    causes = {one.cause: one for one in rank_causes(one_stair(), CauseContext(same_stairs=False))}
    assert "does not show the same stair" in causes["cell_fault"].against
    assert "mended" in causes["shading"].against


def test_many_limited_groups_are_a_shade_rather_than_cells() -> None:
    assert rank_causes(one_stair(8))[0].cause == "shading"
    assert rank_causes(one_stair(8))[0].likelihood > likelihood(
        rank_causes(one_stair(1)), "shading"
    )


@pytest.mark.parametrize("groups", [6, 12, 24, 25])
def test_whole_modules_a_little_below_the_rest_are_weaker_modules(groups: int) -> None:
    """Of many groups one more or less is counted as easily."""
    causes = rank_causes(one_stair(groups, level=0.87))
    assert causes[0].cause == "module_mismatch"
    assert "shade" in causes[0].against
    assert likelihood(causes, "shading") > 0.05


@pytest.mark.parametrize(
    ("stair", "context"),
    [
        (one_stair(12, level=0.6), CauseContext()),
        (one_stair(11, level=0.87), CauseContext()),
        (one_stair(3, level=0.87), CauseContext()),
        (one_stair(12, cells=0.1, level=0.87), CauseContext()),
        (one_stair(12, level=0.87), CauseContext(same_stairs=False)),
        (one_stair(12, level=0.87), CauseContext(note="shadow of the next row")),
    ],
)
def test_what_weaker_modules_would_not_show(stair: SignatureReading, context: CauseContext) -> None:
    """Deep, not of whole modules, one module alone, few cells, or gone at another time."""
    assert rank_causes(stair, context)[0].cause != "module_mismatch"


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


@pytest.mark.parametrize(
    ("signature", "steady"),
    [
        (slope_near_isc(0.01, 60, 0.05, 200.0, 5000.0), "shunt"),
        (rounded_knee(0.02, 200.0, 5000.0), "module_mismatch"),
    ],
)
def test_an_irradiance_that_moved_tilts_and_bends_a_curve(
    signature: Signature, steady: str
) -> None:
    shows = reading(signatures=(signature,), losses={signature.kind: 200.0})
    assert rank_causes(shows)[0].cause == steady
    unsteady = rank_causes(shows, CauseContext(irradiance_unsteady=True))
    assert unsteady[0].cause == "irradiance_input"
    assert "changed during the sweep" in unsteady[0].evidence
    other = next(one for one in unsteady if one.cause == steady)
    assert "changed during the sweep" in other.against


def test_a_sweep_in_moving_light_that_shows_nothing() -> None:
    only = rank_causes(reading(), CauseContext(irradiance_unsteady=True))
    assert [(one.cause, one.likelihood) for one in only] == [("irradiance_input", 0.5)]


def test_a_loss_of_voltage_that_is_much_for_age_leaves_lost_groups_likely() -> None:
    """Beside dirt a whole group of 30 (3.3 %) keeps four fifths, a little less voltage not."""

    def groups(lost: float) -> float:
        voltage = read_voltage(lost, 0.003, 30, 3, -0.0029)
        both = replace(lost_groups(voltage), current_scale=0.88)
        both = replace(both, signatures=(*both.signatures, *soiled().signatures))
        assert voltage.groups == 1
        return likelihood(rank_causes(both), "bypass_short") / voltage.probability_groups

    assert groups(0.034) == pytest.approx(0.94 * 0.8, abs=0.01)
    assert groups(0.029) == pytest.approx(0.94 * 0.55, abs=0.01)


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


def test_whole_number_of_groups_is_a_fault_unless_neighbours_agree() -> None:
    voltage = read_voltage(2 / 60, 0.003, 60, 3, -0.0029, -0.008)
    assert voltage.groups == 2
    alone = rank_causes(lost_groups(voltage))
    assert alone[0].cause == "bypass_short"
    common = rank_causes(lost_groups(voltage), CauseContext(neighbours=neighbours(voltage=-0.045)))
    assert common[0].cause == "temperature_input"
    assert "alike: 12 others deviate by -4.5 % in voltage (median)" in common[1].against


def test_a_little_less_current_beside_less_voltage_may_be_age() -> None:
    low = lost_groups(read_voltage(0.02, 0.004, 60, 3, -0.0029))
    both = replace(low, current_scale=0.965)
    assert likelihood(rank_causes(low), "degradation") < 0.1
    assert likelihood(rank_causes(both), "degradation") > 0.2
    for reading_of in (low, both):
        assert sum(c.likelihood for c in rank_causes(reading_of)) < 1.01


def test_a_module_s_worth_of_groups_is_a_module() -> None:
    voltage = read_voltage(3 / 60, 0.003, 60, 3, -0.0029, -0.01)
    assert rank_causes(lost_groups(voltage))[0].cause == "module_missing"


def test_series_resistance() -> None:
    causes = rank_causes(
        reading(
            signatures=(slope_near_voc(3.0, 0.4, 400.0, 5000.0),),
            losses={"slope_near_voc": 400.0},
        )
    )
    assert causes[0].cause == "series_resistance"


@pytest.mark.parametrize(
    ("work", "caution", "causes"),
    [
        (
            "alone|one by one|singly|of each|sample modules",
            PARTED,
            {"cell_fault", "bypass_short", "module_missing", "shunt", "module_mismatch"}
            | {"degradation"},
        ),
        ("boxes|fuses", OPENED, {"series_resistance"}),
        ("[Cc]lean(ed)? (the|two|and)|on the glass", ON_GLASS, {"soiling", "shading"}),
        ("insulation resistance", EARTH_FAULT, {"shunt"}),
    ],
)
def test_work_on_live_parts_and_on_glass_carries_its_caution(
    work: str, caution: str, causes: set[str]
) -> None:
    """Found by the work that the words speak of, so that a new check cannot leave it out."""
    asked = {cause for cause, text in NEXT_CHECKS.items() if re.search(work, text)}
    assert causes <= asked
    assert [cause for cause in asked if caution not in NEXT_CHECKS[cause]] == []


def test_cautions_name_who_may_do_it() -> None:
    for caution in (PARTED, OPENED):
        assert "qualified person" in caution
        assert "local code" in caution
    assert "never parted under load" in PARTED


@pytest.mark.parametrize("lost", [-0.06, -0.03, 0.0, 0.02, 0.05, 0.2])
def test_probabilities_of_the_voltage_add_up(lost: float) -> None:
    voltage = read_voltage(lost, 0.004, 60, 3, -0.0029)
    total = (
        voltage.probability_healthy + voltage.probability_groups + voltage.probability_temperature
    )
    assert total == pytest.approx(1.0)
    assert voltage.significant == (abs(lost) > 0.012)


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


def worse_all_round(current_scale: float, series_loss: float) -> SignatureReading:
    voltage = read_voltage(0.0181, 0.0039, 81, 3, -0.0025)
    assert voltage.significant
    return reading(
        signatures=(
            low_voltage(17.8, voltage, voltage.groups, 3, 140.0, 5000.0),
            slope_near_voc(2.7, 0.6, series_loss, 5000.0),
        ),
        voltage=voltage,
        current_scale=current_scale,
        losses={"low_voltage": 140.0, "slope_near_voc": series_loss},
    )


def test_current_voltage_and_resistance_all_a_little_worse_are_age() -> None:
    assert rank_causes(worse_all_round(0.97, 160.0))[0].cause == "degradation"


@pytest.mark.parametrize(("current_scale", "series_loss"), [(1.0, 160.0), (0.97, 700.0)])
def test_full_current_or_much_resistance_are_not(current_scale: float, series_loss: float) -> None:
    assert rank_causes(worse_all_round(current_scale, series_loss))[0].cause == "series_resistance"


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

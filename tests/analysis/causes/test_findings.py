"""Findings of a visit's traces: what is handed from the traces to the ranking of causes."""

from dataclasses import replace

from tests.analysis.causes.made_visits import READ, SHEET, analysed, traced
from viewer.site_data.iv_trace import MeasuredConditions


def test_repeats_of_a_dirty_string_say_nothing_of_its_combiner() -> None:
    alone = analysed(traced("S1", current=0.88))[0]
    repeated = analysed(*(traced("S1", 5.0 * k, current=0.88) for k in range(4)))[0]
    assert repeated.candidate_causes[0].cause == alone.candidate_causes[0].cause == "soiling"
    assert not any("combiner are" in one.against for one in repeated.candidate_causes)


def test_repeats_of_a_shaded_string_are_no_row_of_shade() -> None:
    repeated = analysed(*(traced("S1", 5.0 * k, limited=0.4) for k in range(3)))[0]
    assert repeated.signatures[0].kind == "step"
    against = " ".join(one.against for one in repeated.candidate_causes)
    assert "strings show steps" not in against
    assert "One curve cannot tell" in against


def test_a_stair_that_was_mended_within_the_visit_is_no_shade_that_moved() -> None:
    """The visit goes on for days: what one hour changes a shade does, what five days do is open."""
    for minutes, moved in ((90.0, True), (5 * 24 * 60.0, False)):
        first = analysed(traced("S1", limited=0.4), traced("S1", minutes))[0]
        against = " ".join(one.against for one in first.candidate_causes)
        assert ("does not show the same step" in against) is moved


def test_a_missing_module_behind_its_own_voltage_is_no_sure_no_fault() -> None:
    unread = MeasuredConditions(poa_global=900.0)
    none = analysed(traced("S1", lost_groups=3, read=unread))[0].candidate_causes[0]
    assert (none.cause, none.likelihood) == ("none", 0.6)
    assert "without a temperature reading" in none.evidence
    assert analysed(traced("S1"))[0].candidate_causes[0].likelihood > 0.9


def test_the_note_of_a_trace_reaches_the_ranking() -> None:
    cleaned = analysed(traced("S1", current=0.88, note="cleaned this morning"))[0]
    assert cleaned.candidate_causes[0].cause != "soiling"


def test_a_retest_after_a_repair_on_the_same_day_is_no_shade_that_moved() -> None:
    for note, moved in ((None, True), ("after repair", False)):
        first = analysed(traced("S1", limited=0.4), traced("S1", 90.0, note=note))[0]
        against = " ".join(one.against for one in first.candidate_causes)
        assert ("does not show the same step" in against) is moved


def test_light_from_behind_that_was_not_recorded_may_be_an_excess_of_current() -> None:
    plain = analysed(traced("S1", current=1.07))[0].candidate_causes[0]
    bifacial = replace(SHEET, bifaciality=0.7)
    rear = analysed(traced("S1", current=1.07), sheet=bifacial)[0].candidate_causes[0]
    assert plain.cause == rear.cause == "irradiance_input"
    assert plain.likelihood > 0.9 > 0.6 > rear.likelihood
    assert "the light from behind, which was not recorded" in rear.evidence
    assert "from behind" not in plain.evidence


def test_an_irradiance_that_fell_during_the_sweep_is_in_doubt() -> None:
    falling = replace(READ, poa_global_end=760.0)
    first = analysed(traced("S1", current=0.88, read=falling))[0].candidate_causes[0]
    assert first.cause == "irradiance_input"
    assert "changed during the sweep" in first.evidence

"""Findings of a visit's traces: what is handed from the traces to the ranking of causes."""

from tests.analysis.causes.made_visits import analysed, traced


def test_repeats_of_a_dirty_string_say_nothing_of_its_combiner() -> None:
    alone = analysed(traced("S1", current=0.88))[0]
    repeated = analysed(*(traced("S1", 5.0 * k, current=0.88) for k in range(4)))[0]
    assert repeated.candidate_causes[0].cause == alone.candidate_causes[0].cause == "soiling"
    assert not any("combiner are" in one.against for one in repeated.candidate_causes)


def test_repeats_of_a_shaded_string_are_no_row_of_shade() -> None:
    repeated = analysed(*(traced("S1", 5.0 * k, limited=0.4) for k in range(3)))[0]
    assert repeated.signatures[0].kind == "step"
    assert not any("neighbouring" in one.against for one in repeated.candidate_causes)

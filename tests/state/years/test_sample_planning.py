"""This year's sample from what is known of a site."""

import csv

import pytest

from tests.invented_results import invented_layout, invented_visits
from viewer.analysis.years.sample_plan import SUSPECT
from viewer.physics.uncertainty.uncertainty import InputUncertainties
from viewer.reports.sample_table import write_sample_csv
from viewer.state.years.sample_planning import SampleWish, detection_sentences, planned_sample

INPUTS = InputUncertainties()


def plan(**wishes):
    return planned_sample(invented_layout(), invented_visits(), SampleWish(**wishes), INPUTS)


def test_the_same_seed_gives_the_same_plan_and_the_short_string_is_added():
    made = plan(share=0.25, seed=3)
    assert made.plan == plan(share=0.25, seed=3).plan
    assert len(made.plan.sampled) == 2
    reasons = {one.place: one.reason for one in made.plan.strings}
    assert SUSPECT in reasons.values() or ("C1", "S2") in {x.place for x in made.plan.sampled}
    assert ("C1", "S2") in reasons
    assert ("C1", "S2") in {one.place for one in plan(share=0.25, suspects=(("C1", "S2"),),
        add_short=False).plan.strings}  # fmt: skip


def test_last_visits_are_named_and_strings_without_traces_are_not():
    made = planned_sample(invented_layout(strings=5), invented_visits(), SampleWish(1.0), INPUTS)
    assert made.last_traced["C1", "S1"] == "2025"
    assert ("C1", "S5") not in made.last_traced


def test_what_it_can_show_is_said_with_confidence_and_probability():
    said = detection_sentences(plan(share=0.5).power)
    assert "95 % interval" in said[0]
    assert "80 %" in said[0]
    assert len(said) == 5
    assert "Fewer than two" in detection_sentences(plan(share=0.1).power)[0]


def test_a_longer_span_shows_a_smaller_loss():
    smallest = [one.smallest for one in plan(share=0.5).power]
    assert smallest == sorted(smallest, reverse=True)


def test_an_impossible_share_is_refused():
    with pytest.raises(ValueError, match="share"):
        plan(share=0.0)


def test_the_csv_lists_the_strings_in_walking_order(tmp_path):
    made = plan(share=1.0)
    write_sample_csv(tmp_path / "sample.csv", made.plan, made.last_traced)
    with (tmp_path / "sample.csv").open(encoding="utf-8") as stream:
        rows = list(csv.DictReader(stream))
    assert [(row["combiner"], row["string"]) for row in rows] == [
        (f"C{box}", f"S{one}") for box in (1, 2) for one in (1, 2, 3, 4)
    ]
    assert rows[0]["last_traced"] == "2025"

from dataclasses import replace
from pathlib import Path

import pytest

from tests.invented_results import (
    BAD_FILE,
    SECOND_DAY,
    InventedOpener,
    invented_result,
    invented_visits,
)
from viewer.analysis.conditions.condition_thresholds import ConditionThresholds
from viewer.physics.uncertainty.uncertainty import InputUncertainties
from viewer.site_data.resource_folder import example_folder
from viewer.state.session import Arrival, Session
from viewer.state.visit_opening import open_site


@pytest.fixture
def session():
    opened = Session(InventedOpener(invented_visits()))
    opened.open(Path("/invented/visit"))
    return opened


class Heard:
    def __init__(self) -> None:
        self.news: list[object] = []

    def hear(self, *news: object) -> None:
        self.news.append(news)


def test_opening_brings_everything_and_shows_the_newest_visit(session):
    assert len(session.results) == 16
    assert session.unreadable == (BAD_FILE,)
    assert [visit.name for visit in session.visits] == ["2024", "2025"]
    assert session.choices.visit.value == "2025"
    assert session.message.value == "Invented site: 16 traces, 1 file unreadable."
    assert session.settings.value.recent_folders == ("/invented/visit",)


def test_the_worst_string_is_selected_first(session):
    assert session.selection.ids == ("2025/C1/S2.csv",)
    assert session.current is not None
    assert session.current.trace.string == "S2"


def test_suspects_are_those_of_the_shown_visit_the_worst_first(session):
    assert session.suspects() == ("2025/C1/S2.csv", "2025/C1/S3.csv")
    session.choices.visit.value = "2024"
    assert session.suspects() == ()


def test_another_visit_shows_the_same_strings_on_it(session):
    session.selection.choose(["2025/C1/S2.csv", "2025/C2/S3.csv"], "2025/C1/S2.csv")
    session.choices.visit.value = session.visits[0].name
    assert session.selection.ids == ("2024/C1/S2.csv", "2024/C2/S3.csv")
    assert session.selection.current == "2024/C1/S2.csv"
    both = ("2024/C1/S2.csv", "2025/C1/S4.csv")
    session.selection.choose(both)
    session.choices.visit.value = session.visits[1].name
    assert session.selection.ids == both, "something of that visit is selected"
    session.choices.visit.value = None
    assert session.selection.ids == both, "all visits are shown"


def test_a_string_without_a_trace_on_the_other_visit_stays_selected(session):
    extra = invented_result("C9", "S1", at=SECOND_DAY)
    session.take([Arrival(results=(extra,))])
    session.selection.choose([extra.trace.source])
    session.choices.visit.value = session.visits[0].name
    assert session.selection.ids == (extra.trace.source,)


def test_results_of_a_combiner_are_limited_to_the_shown_visit(session):
    assert {one.trace.source for one in session.results_of("C2")} == {
        f"2025/C2/S{one}.csv" for one in range(1, 5)
    }
    session.choices.visit.value = None
    assert len(session.results_of("C2")) == 8


def test_opening_another_folder_forgets_the_first(session):
    session.selection.pin("2025/C1/S2.csv")
    session.opener = InventedOpener([invented_result("C9", "S1")], unreadable=())
    session.open(Path("/invented/other"))
    assert [one.trace.combiner for one in session.results] == ["C9"]
    assert session.unreadable == ()
    assert session.selection.pinned == ()
    assert session.settings.value.recent_folders == ("/invented/other", "/invented/visit")


def test_a_folder_that_cannot_be_opened_leaves_one_sentence():
    session = Session(InventedOpener([], problem="There is no site.toml in /x."))
    session.open(Path("/x"))
    assert session.message.value == "There is no site.toml in /x."
    assert session.results == ()
    assert session.settings.value.recent_folders == ()


def test_what_arrives_from_a_folder_that_was_left_is_dropped():
    waiting: list = []
    session = Session(InventedOpener([invented_result("C1", "S1")]))
    session.jobs.runner = waiting.append
    session.open(Path("/first"))
    session.open(Path("/second"))
    waiting[0].receive(list(waiting[0].steps()))
    assert session.results == ()
    waiting[1].receive(list(waiting[1].steps()))
    assert len(session.results) == 1


def test_other_thresholds_judge_every_trace_again(session):
    heard = Heard()
    session.arrived.connect(heard.hear)
    session.settings.value = replace(session.settings.value, short_below=0.5, watch_below=0.5)
    row = session.row("2025/C1/S2.csv")
    assert row is not None
    assert row.standing.level == "expected"
    assert len(heard.news) == 1


def test_one_notice_a_delivery(session):
    heard = Heard()
    session.arrived.connect(heard.hear)
    session.take([Arrival(results=(invented_result("C7", f"S{n}"),)) for n in range(10)])
    assert len(heard.news) == 1
    assert session.combiners() == ("C1", "C2", "C7")


def test_other_inputs_compute_the_open_site_again_and_leave_the_selection():
    session = Session(open_site)
    session.open(example_folder())
    session.selection.choose(list(session.suspects())[:2])
    chosen, visit = session.selection.ids, session.choices.visit.value
    before = {one.trace.source: one for one in session.results}
    unreadable, remarks = session.unreadable, session.remarks
    name = session.selection.current
    session.settings.value = replace(
        session.settings.value,
        thresholds=replace(ConditionThresholds(), irradiance_for_power=1200.0),
        uncertainties=replace(InputUncertainties(), irradiance=0.05, model=0.03),
    )
    after = session.result(name)
    assert after.power_ratio == before[name].power_ratio
    assert after.power_ratio_uncertainty > 1.5 * before[name].power_ratio_uncertainty
    assert any("1200" in check.detail for check in after.conditions.checks if not check.passed)
    assert session.selection.ids == chosen
    assert session.choices.visit.value == visit
    assert {one.source for one in session.unreadable} == {one.source for one in unreadable}
    assert len(session.unreadable) == len(unreadable)
    assert session.remarks == remarks
    assert "again" in session.message.value


def test_settings_that_decide_of_no_verdict_leave_the_rows_alone(session):
    rows = list(session.rows)
    session.settings.value = replace(session.settings.value, theme="dark", plot_dpi=99)
    assert all(one is other for one, other in zip(session.rows, rows, strict=True))
    session.settings.value = replace(session.settings.value, short_below=0.999)
    assert any(one is not other for one, other in zip(session.rows, rows, strict=True))


def test_whether_there_are_suspects_agrees_with_the_suspects(session):
    for visit in (None, *(one.name for one in session.visits)):
        session.choices.visit.value = visit
        before = session.has_suspects()
        assert before == bool(session.suspects()) == session.has_suspects()


def test_whether_there_are_suspects_is_known_without_going_through_the_rows(session, monkeypatch):
    def looked_at(row):
        raise AssertionError(f"{row.trace_id} was looked at")

    monkeypatch.setattr("viewer.state.session.is_suspect", looked_at)
    assert session.has_suspects()
    session.choices.visit.value = session.visits[0].name
    assert not session.has_suspects()


def test_suspects_are_others_by_other_thresholds_and_when_results_change(session):
    second = session.visits[-1].name
    session.choices.visit.value = session.visits[0].name
    session.settings.value = replace(session.settings.value, watch_below=1.0)
    assert session.has_suspects()
    session.choices.visit.value = second
    session.settings.value = replace(session.settings.value, short_below=0.5, watch_below=0.5)
    sound = [replace(one, conditions=replace(one.conditions, checks=())) for one in session.results]
    session.take([Arrival(results=tuple(sound))])
    assert not session.has_suspects()
    assert session.suspects() == ()


def test_results_of_known_traces_do_not_have_the_visits_told_again(session, monkeypatch):
    before = session.visits
    monkeypatch.setattr("viewer.state.session.visits_of", lambda traces: ())
    session.compute_again()
    assert session.visits is before
    later = replace(session.results[0].trace, measured_at=None)
    session.take([Arrival(results=(replace(session.results[0], trace=later),))])
    assert session.visits == ()

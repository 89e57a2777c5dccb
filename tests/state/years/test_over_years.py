"""What the visits say together: computed when asked for, dropped when the results change."""

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

import numpy as np
import pytest

from tests.invented_results import (
    FIRST_DAY,
    SECOND_DAY,
    InventedOpener,
    invented_result,
    invented_visits,
)
from viewer.analysis.years.observation import DAYS_A_YEAR
from viewer.site_data.site_file.annotations import Repair
from viewer.site_data.visit_grouping import group_visits
from viewer.state.session import Arrival, Session
from viewer.state.years.over_years import box_numbers
from viewer.state.years.rate_rows import (
    axis_range,
    history,
    rate_rows,
    site_sentences,
    string_sentences,
)
from viewer.state.years.traced_strings import traced_strings

SHORT = ("C1", "S2")


@pytest.fixture
def session():
    opened = Session(InventedOpener(invented_visits()))
    opened.open(Path("/invented/visit"))
    opened.years.ensure()
    return opened


def test_nothing_is_computed_before_somebody_asks():
    opened = Session(InventedOpener(invented_visits()))
    opened.open(Path("/invented/visit"))
    assert opened.years.found is None
    opened.years.ensure()
    assert opened.years.found.visit_names == ("2024", "2025")


def test_the_rate_of_a_string_traced_twice_is_the_slope_between_both(session):
    rows = rate_rows(session.years.found, "p_mp", "all", None)
    row = next(one for one in rows if one.place == SHORT)
    then, now = (
        next(one for one in session.results if one.trace.source == f"{year}/C1/S2.csv")
        for year in (2024, 2025)
    )
    days = (now.trace.measured_at - then.trace.measured_at).total_seconds() / 86400
    change = now.translated.p_mp / then.translated.p_mp - 1
    assert row.rate.value == pytest.approx(100 * change / (days / DAYS_A_YEAR), rel=1e-6)
    assert row.rate.low < row.rate.value < row.rate.high


def test_rows_begin_with_the_groups_and_the_worst_string_leads_the_strings(session):
    rows = rate_rows(session.years.found, "p_mp", "all", None)
    kinds = [row.kind for row in rows]
    assert kinds[0] == "site"
    assert kinds.index("string") > kinds.index("combiner")
    assert next(row.place for row in rows if row.place) == SHORT
    assert len([row for row in rows if row.place]) == 8


def test_strings_can_be_limited_to_a_combiner_or_to_those_that_stand_out(session):
    years = session.years.found
    boxes = {row.place[0] for row in rate_rows(years, "p_mp", "combiner", "C2") if row.place}
    assert boxes == {"C2"}
    apart = [row.place for row in rate_rows(years, "p_mp", "outlying", None) if row.place]
    assert apart == [SHORT]


def test_the_axis_holds_every_rate_and_zero(session):
    rows = rate_rows(session.years.found, "p_mp", "all", None)
    low, high = axis_range(rows)
    assert low < min(row.rate.value for row in rows)
    assert high > 0 > low
    assert axis_range([]) == (-2.0, 1.0)


def test_sentences_always_print_the_interval(session):
    years = session.years.found
    assert "(95 %)" in string_sentences(years, SHORT)[0]
    assert "(95 %)" in site_sentences(years)[0]
    assert any("Jordan and Kurtz" in one for one in site_sentences(years))
    assert "two visits" in string_sentences(years, ("C1", "S9"))[0]


def test_history_has_a_point_a_visit_with_its_expanded_uncertainty(session):
    past = history(session.years.found, SHORT, "v_oc")
    assert [one.visit for one in past.points] == ["2024", "2025"]
    assert past.points[0].value == session.result("2024/C1/S2.csv").translated.v_oc
    one = session.years.found.observed.observations[1]
    assert one.place == SHORT
    assert past.points[0].expanded == pytest.approx(
        2 * one.uncertainty["v_oc"].total * past.points[0].value
    )


def test_a_repair_is_marked_and_takes_the_string_out_of_the_groups():
    opened = Session(InventedOpener(invented_visits()))
    opened.open(Path("/invented/visit"))
    opened.take([Arrival(repairs=(Repair(*SHORT, date(2024, 12, 1), "new connector"),))])
    opened.years.ensure()
    years = opened.years.found
    past = history(years, SHORT, "p_mp")
    assert len(past.repairs) == 1
    assert 0.4 < past.repairs[0][0] < 0.6
    assert "new connector" in past.repairs[0][1]
    assert "repaired" in string_sentences(years, SHORT)[0]
    assert SHORT not in [row.place for row in rate_rows(years, "p_mp", "all", None)]


def test_more_results_drop_what_was_found(session):
    session.take([Arrival(results=(invented_result("C2", "S7"),))])
    assert session.years.found is None


def test_another_site_forgets_baseline_and_terms(session):
    session.years.baseline.value = "2025"
    session.open(Path("/invented/other"))
    assert session.years.baseline.value is None
    assert session.years.found is None


def test_the_baseline_is_the_marked_visit_else_the_first(session):
    assert session.years.baseline_name() == "2024"
    session.years.marked_start = session.years.found.observed.visits[1].started_at
    assert session.years.baseline_name() == "2025"
    session.years.baseline.value = "2024"
    assert session.years.baseline_name() == "2024"


def test_box_numbers_are_numpys_quartiles_and_leave_far_points_out():
    ratios = np.array([0.95, 0.96, 0.97, 0.98, 0.99, 1.0, 0.5])
    numbers = box_numbers(ratios)
    assert (numbers.quarter, numbers.median, numbers.three_quarters) == pytest.approx(
        tuple(np.percentile(ratios, (25, 50, 75)))
    )
    assert (numbers.low, numbers.high) == (0.95, 1.0)
    assert box_numbers(np.array([np.nan])) is None


def test_the_latest_trace_of_each_string(session):
    session.years.ensure()
    latest = session.years.found.traced.latest
    assert latest[SHORT] == "2025/C1/S2.csv"
    assert len(latest) == 8


def test_undated_traces_are_the_earliest_and_each_visit_has_its_last():
    then, now = FIRST_DAY, SECOND_DAY

    def traced(name, at):
        made = invented_result("C1", "S1", loss=0.1)
        return replace(made, trace=replace(made.trace, source=name, measured_at=at))

    results = [
        traced("b.csv", now),
        traced("c.csv", now + timedelta(hours=1)),
        traced("a.csv", then),
        traced("undated.csv", None),
    ]
    found = traced_strings(results, group_visits([one.trace for one in results]))
    place = "C1", "S1"
    first, second = (at.date().isoformat() for at in (then, now))
    assert found.latest == {place: "c.csv"}
    assert found.on_visit[first][place] == "a.csv"
    assert found.on_visit[second][place] == "c.csv"
    assert found.visits[place] == (0, 1, 2)
    assert found.short == (place,)
    alone = traced_strings(results[3:], group_visits([results[3].trace]))
    assert alone.latest == {place: "undated.csv"}


def test_times_with_and_without_an_offset_are_put_in_order_together():
    made = invented_result()
    hours = (14, 12, 13)
    zones = (None, UTC, None)
    traces = [
        replace(
            made.trace, source=f"{hour}.csv", measured_at=datetime(2025, 6, 1, hour, tzinfo=zone)
        )
        for hour, zone in zip(hours, zones, strict=True)
    ]
    (visit,) = group_visits(traces)
    assert visit.members == (1, 2, 0)

"""Two traces of one string on one day are told apart by their time, and only these."""

from dataclasses import replace
from datetime import datetime

import pytest

from tests.invented_results import invented_layout, invented_result
from viewer.state.program.settings import Settings
from viewer.state.strings.deviation_grid import deviation_grid
from viewer.state.strings.same_strings import same_strings
from viewer.state.strings.string_rows import RowFilter, arranged, string_row
from viewer.state.strings.times_of_day import days_told, label_among, names_told


def traced(string: str, moment: str):
    one = invented_result("C1", string)
    trace = replace(
        one.trace,
        source=f"{string} {moment}.csv",
        measured_at=datetime.fromisoformat(moment) if moment else None,
    )
    return replace(one, trace=trace)


DAY, NEXT = "2025-06-24", "2025-06-25"


@pytest.mark.parametrize(
    ("moments", "days", "names"),
    [
        (
            [("S1", DAY, "10:15:00"), ("S2", DAY, "10:15:00")],
            [DAY, DAY],
            ["S1", "S2"],
        ),
        (
            [("S1", DAY, "10:15:00"), ("S1", DAY, "12:31:02"), ("S2", DAY, "10:20:00")],
            [f"{DAY} 10:15", f"{DAY} 12:31", DAY],
            ["S1, 10:15", "S1, 12:31", "S2"],
        ),
        (
            [("S1", DAY, "10:15:00"), ("S1", DAY, "10:15:41"), ("S1", DAY, "11:00:00")],
            [f"{DAY} 10:15:00", f"{DAY} 10:15:41", f"{DAY} 11:00"],
            ["S1, 10:15:00", "S1, 10:15:41", "S1, 11:00"],
        ),
        (
            [("S1", DAY, "10:15:00"), ("S1", NEXT, "10:15:00"), ("S2", NEXT, "10:20:00")],
            [DAY, NEXT, NEXT],
            [f"S1, {DAY}", f"S1, {NEXT}", "S2"],
        ),
        (
            [("S1", DAY, "10:15:00"), ("S1", DAY, "12:31:02"), ("S1", NEXT, "10:20:00")],
            [f"{DAY} 10:15", f"{DAY} 12:31", NEXT],
            [f"S1, {DAY} 10:15", f"S1, {DAY} 12:31", f"S1, {NEXT}"],
        ),
        ([("S1", "", ""), ("S1", "", "")], ["", ""], ["S1", "S1"]),
        ([], [], []),
    ],
)
def test_as_much_is_told_as_tells_them_apart(moments, days, names):
    moments = [("C1", *one) for one in moments]
    assert days_told(moments) == days
    assert names_told(moments) == names


def test_the_same_name_under_another_combiner_is_another_string():
    moments = [("C1", "S1", DAY, "10:15:00"), ("C2", "S1", DAY, "10:15:00")]
    assert names_told(moments) == ["S1", "S1"]


def test_rows_of_the_list_are_sorted_and_found_by_their_time():
    results = [traced("S1", f"{DAY}T{time}") for time in ("14:00:00", "09:30:00", "11:00:00")]
    rows = [string_row(one, Settings()) for one in results]
    for key in ("combiner", "string", "day"):
        order = [row.time for row in arranged(rows, RowFilter(), key)]
        assert order == ["09:30:00", "11:00:00", "14:00:00"], key
    assert [row.time for row in arranged(rows, RowFilter(words="09:30"), "day")] == ["09:30:00"]
    chosen = string_row(traced("S1", f"{NEXT}T09:00:00"), Settings())
    (newest,) = same_strings(rows, [chosen], {row.trace_id for row in rows}).values()
    assert newest == f"S1 {DAY}T14:00:00.csv"


def test_the_grid_tells_times_in_their_order():
    results = [traced("S1", f"{DAY}T14:00:00"), traced("S1", f"{DAY}T09:30:00+02:00")]
    grid = deviation_grid([*results, traced("S2", f"{DAY}T10:00:00")], "C1")
    assert grid.names == ("S1, 09:30", "S1, 14:00", "S2")
    grid = deviation_grid([*results, traced("S2", f"{NEXT}T10:00:00")], "C1", invented_layout())
    assert grid.names == (f"S1, {DAY} 09:30", f"S1, {DAY} 14:00", f"S2, {NEXT}", "S3", "S4")


def test_the_heading_of_a_pane_tells_the_time_where_there_are_others():
    one, two = traced("S1", f"{DAY}T09:30:00"), traced("S1", f"{DAY}T14:00:00")
    other = traced("S2", f"{DAY}T14:00:00")
    assert label_among(one, [one, other]) == f"C1 S1, {DAY}"
    assert label_among(one, [one, two, other]) == f"C1 S1, {DAY} 09:30"
    soon = traced("S1", f"{DAY}T09:30:40")
    assert label_among(one, [one, soon]) == f"C1 S1, {DAY} 09:30:00"
    assert label_among(traced("S1", ""), [one, two]) == "C1 S1"

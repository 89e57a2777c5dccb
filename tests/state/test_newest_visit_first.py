"""Of a site file the window shows the newest visit from the start: its results come first."""

from datetime import datetime, timedelta
from functools import partial
from itertools import groupby
from pathlib import Path

import numpy as np
import pytest

from viewer.analysis import batch
from viewer.analysis.batch import neighbour_groups
from viewer.site_data.iv_trace import Trace
from viewer.site_data.resource_folder import example_folder
from viewer.state.keeping.site_import import import_steps
from viewer.state.opening import worker_processes
from viewer.state.session import Session
from viewer.state.strings.listed_traces import stored_listing
from viewer.state.visit_opening import newest_first, open_site

NOTHING = np.empty(0)
FIRST = datetime(2020, 6, 1, 9)


@pytest.fixture(scope="module")
def site_file(tmp_path_factory) -> Path:
    path = tmp_path_factory.mktemp("newest") / "example.curvewright"
    assert list(import_steps(example_folder(), path))
    return path


@pytest.fixture
def small_pieces(monkeypatch):
    monkeypatch.setattr(batch, "TRACES_AT_FIRST", 10)
    monkeypatch.setattr(batch, "TRACES_AT_ONCE", 10)
    monkeypatch.setattr(batch, "OF_ONE_GROUP", 10)


@pytest.fixture
def two_processes(monkeypatch):
    monkeypatch.setattr(worker_processes, "WORTH_STARTING", 1)
    monkeypatch.setattr(worker_processes, "WORTH_WAITING", 1)
    monkeypatch.setattr(worker_processes, "_usable_cores", lambda: 2)


def years_as_they_come(path: Path, behind_window: bool) -> list[int]:
    """The years of the results, each as often as results of another year came between."""
    steps = open_site(path, behind_window=behind_window)
    results = [one for _, arrival in steps for one in arrival.results]
    assert len(results) > 80
    return [year for year, _ in groupby(one.trace.measured_at.year for one in results)]


def test_a_window_gets_the_newest_visit_first_and_a_command_the_visits_in_order(
    site_file, small_pieces
):
    assert years_as_they_come(site_file, behind_window=True) == [2025, 2024]
    assert years_as_they_come(site_file, behind_window=False) == [2024, 2025]


def test_of_a_folder_no_visit_is_shown_before_the_end(small_pieces):
    assert years_as_they_come(example_folder(), behind_window=True) == [2024, 2025]


def test_every_process_begins_with_the_newest_visit(
    site_file, small_pieces, two_processes, monkeypatch
):
    given = []
    do_shares = worker_processes.do_shares

    def noted(shares, begin):
        given.append(
            [[{one.measured_at.year for one in piece[0]} for piece in share] for share in shares]
        )
        return do_shares(shares, begin)

    monkeypatch.setattr(worker_processes, "do_shares", noted)
    steps = open_site(site_file, behind_window=True)
    assert any(arrival.results for _, arrival in steps)
    steps.close()
    ((one, other),) = given
    assert len(one) + len(other) > 4
    for share in (one, other):
        assert share == sorted(share, key=max, reverse=True)
        assert share[0] == {2025}
        assert share[-1] == {2024}


def test_the_results_stand_as_they_are_listed_in_whatever_order_they_came(site_file, small_pieces):
    session = Session(partial(open_site, behind_window=True))
    session.open(site_file)
    listed = [one.source for one in stored_listing(site_file).listing.traces]
    kept = [one.trace.source for one in session.results]
    assert kept == [one for one in listed if session.result(one)]
    assert len(kept) > 80
    for combiner in session.combiners():
        found = [one.trace.source for one in session.all_results_of(combiner)]
        assert found == [one for one in kept if one in found]


def trace(day: int | None, combiner: str, number: int) -> Trace:
    moment = None if day is None else FIRST + timedelta(days=day, minutes=number)
    return Trace(f"{day}/{combiner}/{number}.csv", NOTHING, NOTHING, combiner, None, moment)


def test_the_groups_are_the_same_backwards_in_time_with_undated_traces_last(monkeypatch):
    monkeypatch.setattr(batch, "OF_ONE_GROUP", 1)
    days = (None, 0, 400, 1, 800)
    traces = [trace(day, box, n) for n in range(3) for day in days for box in ("B", "A")]
    groups, usual = newest_first(traces), neighbour_groups(traces)
    assert sorted(groups, key=usual.index) == usual
    assert len(groups) == len(usual) == 8
    assert [(one[0].combiner, one[0].source[0]) for one in groups] == [
        ("A", "8"),
        ("B", "8"),
        ("A", "4"),
        ("B", "4"),
        ("A", "0"),
        ("B", "0"),
        ("A", "N"),
        ("B", "N"),
    ]


def test_the_shown_visit_is_the_one_that_comes_first(site_file, small_pieces):
    steps = open_site(site_file, behind_window=True)
    session = Session(open_site)
    session.take([next(steps)[1]])
    shown = session.shown_visit()
    assert shown is not None
    results = next(arrival.results for _, arrival in steps if arrival.results)
    assert {one.trace.source for one in results} < shown.trace_ids

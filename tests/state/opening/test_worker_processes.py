"""Several processes give what one gives."""

import multiprocessing
import os
import shutil
import sqlite3
from concurrent.futures import Future
from contextlib import closing
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest

from viewer.analysis import batch
from viewer.analysis.results.trace_result import TraceResult
from viewer.reports.result_json import json_line
from viewer.site_data.iv_trace import Unreadable
from viewer.site_data.resource_folder import example_folder
from viewer.state.keeping.site_import import import_steps
from viewer.state.opening import worker_processes, worker_tasks
from viewer.state.opening.work_elsewhere import WorkElsewhere
from viewer.state.program.jobs import Progress
from viewer.state.session import Session
from viewer.state.visit_opening import open_site

RESULTS = (
    "SELECT trace_id, measured_p_mp, translated_v_oc, power_ratio, power_ratio_uncertainty, "
    "first_cause, first_cause_likelihood FROM results ORDER BY trace_id"
)
Told = tuple[list[str], list[Unreadable], list[Progress]]


def _told(path: Path) -> Told:
    """Results in order of their traces, unreadable files as they came, and all progress."""
    results: list[TraceResult] = []
    unreadable: list[Unreadable] = []
    steps: list[Progress] = []
    for progress, arrival in open_site(path):
        steps.append(progress)
        results += arrival.results
        unreadable += arrival.unreadable
    return sorted(map(json_line, results)), unreadable, steps


@pytest.fixture
def processes(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(worker_processes, "WORTH_STARTING", 1)
    monkeypatch.setattr(worker_processes, "WORTH_WAITING", 1)
    monkeypatch.setattr(worker_processes, "READ_AT_ONCE", 7)
    monkeypatch.setattr(worker_processes, "_usable_cores", lambda: 2)


@pytest.fixture
def mixed_site(tmp_path: Path) -> Path:
    """The example's traces and three files that cannot be read, one of them in the middle."""
    folder = tmp_path / "site"
    shutil.copytree(example_folder(), folder)
    places = sorted(path.parent for path in folder.rglob("*.csv"))
    for place in (places[0], places[len(places) // 2], places[-1]):
        (place / "A broken one.csv").write_text("voltage,current\n1,2\n", encoding="utf-8")
    return folder


def test_a_folder(mixed_site: Path, request: pytest.FixtureRequest) -> None:
    here = _told(mixed_site)
    request.getfixturevalue("processes")
    there = _told(mixed_site)
    assert there[0] == here[0]
    assert there[1] == here[1]
    assert len(there[1]) >= 3
    for text in ("reading", "comparing"):
        done = [one.done for one in there[2] if one.text == text]
        assert done == sorted(done)
        assert done[-1] == max(one.done for one in here[2] if one.text == text)


def test_copies_count_once_whoever_reads_them(mixed_site: Path, processes: None) -> None:
    count = len(_told(mixed_site)[0])
    original = next(mixed_site.rglob("CB-A-S01.csv"))
    shutil.copy(original, original.with_name("CB-A-S01 once more.csv"))
    arrivals = [arrival for _, arrival in open_site(mixed_site)]
    assert sum(len(one.results) for one in arrivals) == count
    (said,) = [one for a in arrivals for one in a.remarks if "same bytes" in one]
    assert f"{original.name} is counted." in said


@pytest.mark.parametrize("others_are_there", [True, False])
def test_a_folder_with_help(
    mixed_site: Path,
    request: pytest.FixtureRequest,
    monkeypatch: pytest.MonkeyPatch,
    by_whom: list[str],
    others_are_there: bool,
) -> None:
    """The others do what they were handed, or this process does it where they are not there yet."""
    monkeypatch.setattr(batch, "TRACES_AT_FIRST", 5)
    alone = _told(mixed_site)
    request.getfixturevalue("processes")
    monkeypatch.setattr(worker_processes, "WORTH_WAITING", 1000)
    here: list[int] = []
    there: list[int] = []
    compare_here, compare_there = worker_processes.compare_or_say_why, worker_processes.unpacked

    def noted_here(*given: Any) -> worker_processes.Outcomes:
        outcomes = compare_here(*given)
        here.append(len(outcomes))
        return outcomes

    def noted_there(content: bytes) -> worker_processes.Outcomes:
        outcomes: worker_processes.Outcomes = compare_there(content)
        there.append(len(outcomes))
        return outcomes

    monkeypatch.setattr(worker_processes, "compare_or_say_why", noted_here)
    monkeypatch.setattr(worker_processes, "unpacked", noted_there)
    monkeypatch.setattr(
        worker_processes.AnalysisElsewhere, "ready", property(lambda _: others_are_there)
    )
    if not others_are_there:
        monkeypatch.setattr(worker_processes.AnalysisElsewhere, "begin", lambda *_: Future[bytes]())
    together = _told(mixed_site)
    assert by_whom == ["AnalysisHere", "AnalysisHelped"]
    assert together[:2] == alone[:2]
    assert sum(there) == len(alone[0]) - sum(here)
    assert bool(there) == others_are_there
    assert len(here) >= 1
    done = [one.done for one in together[2] if one.text == "comparing"]
    assert done == sorted(done)
    assert done[-1] == len(alone[0])


def test_one_process_less_helps_than_there_are_cores(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(worker_processes, "_usable_cores", lambda: 3)
    for traces, processes in ((499, 0), (500, 2), (1500, 3)):
        with worker_processes.Workers() as workers:
            workers.expect(traces)
            assert len(workers.pools) == processes


def test_a_site_file(tmp_path: Path, request: pytest.FixtureRequest) -> None:
    path = tmp_path / "example.curvewright"
    assert list(import_steps(example_folder(), path))
    here = _told(path)
    request.getfixturevalue("processes")
    there = _told(path)
    assert there[0] == here[0]
    assert len(there[0]) > 50


@pytest.fixture
def by_whom(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """Who was given each analysis, by name; filled as they are given."""
    names: list[str] = []
    chosen = worker_processes.Workers.analysis

    def analysis(self: worker_processes.Workers, *given: Any) -> object:
        found = chosen(self, *given)
        names.append(type(found).__name__)
        return found

    monkeypatch.setattr(worker_processes.Workers, "analysis", analysis)
    return names


def stored_results(path: Path) -> list[tuple[object, ...]]:
    with closing(sqlite3.connect(path)) as connection:
        return connection.execute(RESULTS).fetchall()


def test_an_import(tmp_path: Path, request: pytest.FixtureRequest, by_whom: list[str]) -> None:
    stored: list[list[tuple[object, ...]]] = []
    for name in ("here", "there"):
        path = tmp_path / f"{name}.curvewright"
        steps = list(import_steps(example_folder(), path))
        assert [one.progress for one in steps][-1].done > 50
        stored.append(stored_results(path))
        if name == "here":
            request.getfixturevalue("processes")
    assert by_whom == ["AnalysisHere", "AnalysisElsewhere"]
    assert len(stored[0]) > 50
    assert stored[1] == stored[0]


def test_an_import_from_the_window(
    tmp_path: Path, request: pytest.FixtureRequest, by_whom: list[str]
) -> None:
    """Stored by the process that works for the window, which may start no others; what several
    analyse is shared out by the window."""
    stored: list[list[tuple[object, ...]]] = []
    elsewhere = WorkElsewhere()
    try:
        for name in ("small", "large"):
            path = tmp_path / f"{name}.curvewright"
            session = Session(lambda *_: iter(()))
            session.jobs.elsewhere = elsewhere
            session.notes.import_folder(example_folder(), path)
            assert "traces stored in" in session.message.value
            stored.append(stored_results(path))
            if name == "small":
                assert by_whom == [], "a small one is analysed where it was stored"
                request.getfixturevalue("processes")
    finally:
        elsewhere.close()
    assert by_whom == ["AnalysisElsewhere"]
    assert len(stored[0]) > 50
    assert stored[1] == stored[0]


@pytest.mark.usefixtures("processes")
def test_a_process_that_computes_for_the_window_starts_no_others(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(
        multiprocessing, "current_process", lambda: SimpleNamespace(daemon=True, name="apart")
    )
    with worker_processes.Workers() as workers:
        workers.expect(10)
        assert workers.pools == []


@pytest.mark.usefixtures("processes")
def test_a_file_changed_between_reading_and_comparing(mixed_site: Path) -> None:
    """Nothing is lost in silence: every trace that was read is a result or told of."""
    steps = open_site(mixed_site)
    results: list[str] = []
    gone: list[Unreadable] = []
    for progress, arrival in steps:
        if progress.text == "reading" and progress.done == progress.total:
            for path in mixed_site.rglob("*.csv"):
                path.write_text("", encoding="utf-8")
        results += [one.trace.source for one in arrival.results]
        gone += arrival.unreadable
    files = {path.relative_to(mixed_site).as_posix() for path in mixed_site.rglob("*.csv")}
    assert {*results, *(one.source for one in gone)} == files


@pytest.mark.usefixtures("processes")
def test_workers_have_one_thread_and_this_process_keeps_its_environment(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.delenv("OPENBLAS_NUM_THREADS", raising=False)
    monkeypatch.setenv("OMP_NUM_THREADS", "3")
    before = dict(os.environ)
    with worker_processes.Workers() as workers:
        workers.expect(10)
        assert dict(os.environ) == before
        (pool, _) = workers.pools
        assert pool.submit(os.getenv, "OPENBLAS_NUM_THREADS").result() == "1"
        assert pool.submit(os.getenv, "OMP_NUM_THREADS").result() == "3"


@pytest.mark.usefixtures("processes")
def test_giving_up_ends_the_processes() -> None:
    steps = open_site(example_folder())
    assert any(arrival.results for _, arrival in steps)
    steps.close()  # type: ignore[attr-defined]
    assert multiprocessing.active_children() == []


@pytest.mark.usefixtures("processes")
def test_processes_that_are_still_being_loaded_are_not_waited_for() -> None:
    """Some hundred sound strings are done before the others could help."""
    with worker_processes.Workers() as workers:
        workers.expect(10)
        assert len(multiprocessing.active_children()) == 2
    assert multiprocessing.active_children() == []


@pytest.mark.skipif(not hasattr(os, "nice"), reason="the system knows no niceness")
@pytest.mark.usefixtures("processes")
def test_only_processes_behind_a_window_give_way() -> None:
    for behind_window, more in ((True, worker_tasks.GIVES_WAY), (False, 0)):
        with worker_processes.Workers(behind_window) as workers:
            workers.expect(10)
            found = [pool.submit(os.nice, 0).result() for pool in workers.pools]
        assert found == [os.nice(0) + more] * 2

"""Work of a process of its own: real processes, started afresh as on any system."""

import os
import time
from collections.abc import Iterator
from multiprocessing import Pipe
from pathlib import Path

import pytest

from viewer.state.opening import work_elsewhere
from viewer.state.opening.work_elsewhere import LOST, WAITING, WorkElsewhere
from viewer.state.program.jobs import Job, Jobs, Progress, Step, drive


def counting(count: int) -> Iterator[Step]:
    for number in range(count):
        yield Step(Progress(number + 1, count), (number, os.getpid()))


def slowly(folder: Path, count: int) -> Iterator[Step]:
    """Leaves a file at every step and one at its end, however it ends."""
    try:
        for number in range(count):
            (folder / str(number)).touch()
            time.sleep(0.01)
            yield Step(Progress(number + 1, count))
    finally:
        (folder / "ended").touch()


def failing(kind: type[Exception], words: str) -> Iterator[Step]:
    yield Step(Progress(1, 2))
    raise kind(words)


def dying() -> Iterator[Step]:
    yield Step(Progress(1, 2))
    os._exit(3)


@pytest.fixture(scope="module")
def elsewhere():
    made = WorkElsewhere()
    made.start()
    yield made
    made.close()


def test_steps_come_in_order_from_one_other_process(elsewhere):
    first, second = list(elsewhere(counting, 5)), list(elsewhere(counting, 3))
    assert [step.payload[0] for step in first] == [0, 1, 2, 3, 4]
    assert [step.progress.done for step in second] == [1, 2, 3]
    processes = {step.payload[1] for step in (*first, *second)}
    assert len(processes) == 1
    assert os.getpid() not in processes


def test_what_goes_wrong_there_is_said_as_if_it_were_here(elsewhere):
    for kind in (ValueError, FileNotFoundError):
        job = Job("Failing", lambda kind=kind: elsewhere(failing, kind, "no room"), lambda _: None)
        outcome = drive(job, job.receive)
        assert (outcome.kind, outcome.text) == ("failed", "no room")
    job = Job("Failing", lambda: elsewhere(failing, KeyError, "odd"), lambda _: None)
    assert "stopped unexpectedly" in drive(job, job.receive).text
    assert len(list(elsewhere(counting, 2))) == 2


def test_a_mistake_of_ours_there_tells_where_it_happened(elsewhere):
    with pytest.raises(RuntimeError, match="KeyError") as raised:
        list(elsewhere(failing, KeyError, "odd"))
    assert "in failing" in "".join(raised.value.__notes__)


def test_a_job_that_is_cancelled_ends_after_the_step_under_way(elsewhere, tmp_path):
    job = Job("Slow", lambda: elsewhere(slowly, tmp_path, 500), lambda _: None)

    def cancel_at_first(steps):
        job.receive(steps)
        job.cancel()

    assert drive(job, cancel_at_first, interval=0.0).kind == "cancelled"
    assert (tmp_path / "ended").exists()
    assert len(list(tmp_path.iterdir())) < 50
    assert len(list(elsewhere(counting, 4))) == 4, "what was left in the pipe must not be taken"


def test_a_second_piece_waits_for_the_first_and_can_be_cancelled(elsewhere, tmp_path):
    under_way = elsewhere(slowly, tmp_path, 500)
    next(under_way)
    second = elsewhere(counting, 2)
    waiting = next(second)
    assert (waiting.progress.text, waiting.payload) == (WAITING, None)
    job = Job("Third", lambda: elsewhere(counting, 2), lambda _: None)
    assert drive(job, lambda steps: job.cancel(), interval=0.0).kind == "cancelled"
    under_way.close()
    assert [step.payload[0] for step in second if step.payload] == [0, 1]


def test_a_process_that_died_is_told_in_words_and_replaced():
    elsewhere = WorkElsewhere()
    try:
        job = Job("Dying", lambda: elsewhere(dying), lambda _: None)
        outcome = drive(job, job.receive)
        assert (outcome.kind, outcome.text) == ("failed", LOST)
        assert len(list(elsewhere(counting, 3))) == 3
    finally:
        elsewhere.close()


def test_closing_ends_the_process_and_jobs_without_it_work_here():
    elsewhere = WorkElsewhere()
    elsewhere.start()
    process = elsewhere._process
    assert process is not None
    elsewhere.close()
    assert not process.is_alive()
    assert [step.payload for step in Jobs().elsewhere(counting, 1)] == [(0, os.getpid())]


def test_a_package_that_is_missing_does_not_end_the_process(monkeypatch):
    monkeypatch.setattr(work_elsewhere, "AHEAD", ("no_such_package",))
    monkeypatch.setattr(work_elsewhere.signal, "signal", lambda *_: None)
    here, there = Pipe()
    here.close()
    work_elsewhere.serve(there)  # returns, since nobody asks any more

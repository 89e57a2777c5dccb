import gc
import sys
import threading
import time
import weakref
from itertools import pairwise
from pathlib import Path

from PySide6.QtCore import QEvent, QObject, QTimer
from PySide6.QtWidgets import QStatusBar

from tests.invented_results import InventedOpener, invented_visits
from viewer.state.program.jobs import Job, Outcome, Progress, Step, drive
from viewer.state.session import Session
from viewer.widgets.controls.job_runner import JobRunner
from viewer.widgets.program.work_strip import WorkStrip


def test_work_is_done_on_another_thread_and_received_on_this_one(qapp, qtbot):
    runner = JobRunner()
    worked_on: set[int] = set()
    received_on: set[int] = set()
    taken: list[int] = []

    def steps():
        for number in range(20):
            worked_on.add(threading.get_ident())
            time.sleep(0.01)
            yield Step(Progress(number + 1, 20), number)

    def take(payloads):
        received_on.add(threading.get_ident())
        taken.extend(payloads)

    job = Job("Counting", steps, take)
    runner(job)
    qtbot.waitUntil(lambda: job.outcome.value is not None, timeout=5000)
    assert taken == list(range(20))
    assert received_on == {threading.get_ident()}
    assert worked_on.isdisjoint(received_on)
    assert runner.finish()


def test_cancelling_ends_the_thread_soon(qapp, qtbot):
    runner = JobRunner()

    def steps():
        number = 0
        while True:
            number += 1
            time.sleep(0.005)
            yield Step(Progress(number))

    job = Job("Endless", steps, lambda payloads: None)
    runner(job)
    qtbot.waitUntil(lambda: job.progress.value.done > 0, timeout=5000)
    job.cancel()
    qtbot.waitUntil(lambda: job.outcome.value is not None, timeout=5000)
    assert job.outcome.value.kind == "cancelled"
    assert runner.finish(1000)


def test_a_session_opened_on_the_pool_ends_like_one_opened_here(qapp, qtbot):
    here = Session(InventedOpener(invented_visits()))
    here.open(Path("/x"))
    there = Session(InventedOpener(invented_visits()))
    runner = JobRunner()
    there.jobs.runner = runner
    there.open(Path("/x"))
    qtbot.waitUntil(lambda: there.jobs.current is None, timeout=5000)
    assert [one.trace.source for one in there.results] == [one.trace.source for one in here.results]
    assert there.selection.ids == here.selection.ids
    assert runner.finish()


def test_a_slow_window_is_handed_more_at_a_time_and_gets_its_rest(qapp, qtbot, monkeypatch):
    def at_every_step(job, deliver):
        return drive(job, deliver, interval=0.0)

    monkeypatch.setattr("viewer.widgets.controls.job_runner.drive", at_every_step)
    taken: list[list[int]] = []
    beats: list[float] = []

    def steps():
        for number in range(40):
            time.sleep(0.005)
            yield Step(Progress(number), number)

    def take(payloads):
        taken.append(list(payloads))
        time.sleep(0.04)

    runner = JobRunner()
    job = Job("Much", steps, take)
    timer = QTimer()
    timer.timeout.connect(lambda: beats.append(time.perf_counter()))
    timer.start(5)
    runner(job)
    qtbot.waitUntil(lambda: job.outcome.value is not None, timeout=5000)
    assert [one for part in taken for one in part] == list(range(40))
    assert len(taken) < 10
    between = [later - earlier for earlier, later in pairwise(beats)]
    assert sum(one < 0.02 for one in between) > len(taken)
    assert runner.finish()


def test_jobs_give_the_window_its_turn_soon(qapp):
    """Measured by bench_window: with Python's 5 ms what is selected beside a job takes seconds."""
    before = sys.getswitchinterval()
    sys.setswitchinterval(0.005)
    try:
        JobRunner()
        assert sys.getswitchinterval() <= 0.0001
    finally:
        sys.setswitchinterval(before)


def test_the_strip_shows_progress_and_cancels(shown, session, look):
    bar = shown(QStatusBar(), 500, 30)
    strip = WorkStrip(session, look)
    bar.addPermanentWidget(strip)
    assert not strip.isVisible()
    waiting: list[Job] = []
    session.jobs.runner = waiting.append
    job = Job("Opening example", lambda: iter(()), lambda payloads: None)
    session.jobs.start(job)
    assert strip.isVisible()
    job.receive([Step(Progress(3, 12, "reading"))])
    assert (strip.bar.value(), strip.bar.maximum()) == (3, 12)
    assert "reading 3 of 12" in strip.bar.format()
    strip.cancel.click()
    assert job.cancelled
    assert "stopping" in strip.words.text()


def test_progress_is_painted_in_the_windows_own_turn(shown, qapp, session, look):
    """Qt's bar would paint at every change at once, and all that is out of date with it."""

    class Painted(QObject):
        count = 0

        def eventFilter(self, watched: QObject, event: QEvent) -> bool:
            self.count += event.type() == QEvent.Type.Paint
            return False

    bar = shown(QStatusBar(), 500, 30)
    strip = WorkStrip(session, look)
    bar.addPermanentWidget(strip)
    session.jobs.runner = lambda job: None
    job = Job("Opening example", lambda: iter(()), lambda payloads: None)
    session.jobs.start(job)
    qapp.processEvents()
    painted = Painted()
    strip.bar.installEventFilter(painted)
    for done, total in ((1, 12), (2, 12), (2, 20), (5, 20)):
        job.receive([Step(Progress(done, total, "reading"))])
    assert painted.count == 0
    qapp.processEvents()
    assert painted.count == 1
    assert "reading 5 of 20" in strip.bar.text()


def test_a_job_that_has_ended_leaves_nothing_with_the_strip(shown, session, look):
    strip = WorkStrip(session, look)
    shown(strip)
    session.jobs.runner = lambda job: None
    heard: list[weakref.ref] = []
    for number in range(3):
        job = Job(str(number), lambda: iter(()), lambda payloads: None)
        heard.append(weakref.ref(job.progress.changed))
        session.jobs.start(job)
        job.receive([Step(Progress(1, 2))])
        assert strip.bar.value() == 1
        job.end(Outcome("done"))
    del job
    gc.collect()
    assert [one() is None for one in heard[:-1]] == [True, True]


def test_the_end_waits_a_turn_where_the_last_delivery_took_long(qapp, qtbot):
    runner, told = JobRunner(), []

    def take(_):
        QTimer.singleShot(0, lambda: told.append("window"))
        time.sleep(0.05)

    job = Job("Last", lambda: iter([Step(Progress(1, 1), "one")]), take)
    ended = Told(told)
    job.outcome.changed.connect(ended.end)
    runner(job)
    time.sleep(0.2)  # both the delivery and the end wait for this thread
    qtbot.waitUntil(lambda: len(told) == 2)
    assert told == ["window", "end"]
    assert runner.finish()


class Told:
    def __init__(self, told: list[str]) -> None:
        self.told = told

    def end(self, _: Outcome) -> None:
        self.told.append("end")

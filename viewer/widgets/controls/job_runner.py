"""Drives jobs on a thread pool; steps and outcomes come back on the window's own thread."""

import sys
import time
from collections.abc import Sequence
from functools import partial
from threading import Lock

from PySide6.QtCore import QObject, QRunnable, Qt, QThreadPool, QTimer, Signal

from viewer.state.program.jobs import Job, Outcome, Step, drive

TURN = 0.00005
"""Seconds a job may compute before the window gets its turn. Qt gives the interpreter away at
nearly every call, asks for it back whenever its own code calls Python's (to measure a column, to
paint a cell), and waits as long for each return: a string selected beside a computing job took
2 s to be shown (p95) with Python's own 5 ms, 0.44 s (median) with 0.5 ms, 0.14 s with this; alone
0.07 s. A job loses nothing measurable by it, for nobody asks while the window waits."""


SHORT = 10
"""Milliseconds of taking a delivery after which the job's end may follow at once."""
THREADS = 3
"""At most: one opens or computes, two may be waiting for what another process computes."""


class _Courier(QObject):
    """Carries what a job brings across to the thread this object lives on.

    What comes while the window is still taking the last delivery is handed over at once with
    what follows, after as long a rest as the taking lasted: however much a job brings, and
    however long the panes need to show it, half of the time is the user's.
    """

    called = Signal()
    ended = Signal(object)

    def __init__(self, job: Job) -> None:
        super().__init__()
        self._job = job
        self._lock = Lock()
        self._waiting: list[Step] = []
        self._is_called = False
        self._rest = QTimer(self)
        self._rest.setSingleShot(True)
        self._rest.timeout.connect(self._deliver)
        self.called.connect(self._deliver, Qt.ConnectionType.QueuedConnection)
        self.ended.connect(self._end, Qt.ConnectionType.QueuedConnection)

    def put(self, steps: Sequence[Step]) -> None:
        """From the job's thread."""
        with self._lock:
            self._waiting.extend(steps)
            if self._is_called:
                return
            self._is_called = True
        self.called.emit()

    def _taken(self) -> list[Step]:
        with self._lock:
            steps, self._waiting = self._waiting, []
            self._is_called = bool(steps)
        return steps

    def _deliver(self) -> None:
        steps = self._taken()
        if not steps:
            return
        begun = time.perf_counter()
        self._job.receive(steps)
        self._rest.start(round(1000 * (time.perf_counter() - begun)))

    def _end(self, outcome: Outcome) -> None:
        """The end is told in a turn of its own where taking the last delivery was long."""
        rests = self._rest.interval() if self._rest.isActive() else 0
        self._rest.stop()
        begun = time.perf_counter()
        self._job.receive(self._taken())
        if rests + 1000 * (time.perf_counter() - begun) < SHORT:
            self._job.end(outcome)
        else:
            QTimer.singleShot(0, partial(self._job.end, outcome))


class _Drive(QRunnable):
    def __init__(self, job: Job, courier: _Courier) -> None:
        super().__init__()
        self._job = job
        self._courier = courier

    def run(self) -> None:
        self._courier.ended.emit(drive(self._job, self._courier.put))


class JobRunner(QObject):
    """Call it with a job to have it driven; `finish` cancels all and waits."""

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._pool = QThreadPool(self)
        self._pool.setMaxThreadCount(THREADS)
        sys.setswitchinterval(min(TURN, sys.getswitchinterval()))
        self._under_way: list[tuple[Job, _Courier]] = []

    def __call__(self, job: Job) -> None:
        courier = _Courier(job)
        self._under_way = [pair for pair in self._under_way if pair[0].outcome.value is None]
        self._under_way.append((job, courier))
        self._pool.start(_Drive(job, courier))

    def finish(self, milliseconds: int = 5000) -> bool:
        """Cancel what runs and wait for its threads; whether they ended in time."""
        for job, _ in self._under_way:
            job.cancel()
        return self._pool.waitForDone(milliseconds)

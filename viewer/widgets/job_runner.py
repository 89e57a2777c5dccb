"""Drives jobs on a thread pool; steps and outcomes come back on the window's own thread."""

import sys

from PySide6.QtCore import QObject, QRunnable, Qt, QThreadPool, Signal

from viewer.state.jobs import Job, Outcome, drive

TURN = 0.0005
"""Seconds a job may compute before the window gets its turn. Qt gives the interpreter away at
nearly every call and waits as long for each return: with Python's own 5 ms a string that was
selected beside a computing job took 2 s to be shown (p95), with this 0.1 s."""


class _Courier(QObject):
    """Carries what a job brings across to the thread this object lives on."""

    steps = Signal(list)
    ended = Signal(object)

    def __init__(self, job: Job) -> None:
        super().__init__()
        self._job = job
        self.steps.connect(self._deliver, Qt.ConnectionType.QueuedConnection)
        self.ended.connect(self._end, Qt.ConnectionType.QueuedConnection)

    def _deliver(self, steps: list) -> None:
        self._job.receive(steps)

    def _end(self, outcome: Outcome) -> None:
        self._job.end(outcome)


class _Drive(QRunnable):
    def __init__(self, job: Job, courier: _Courier) -> None:
        super().__init__()
        self._job = job
        self._courier = courier

    def run(self) -> None:
        self._courier.ended.emit(drive(self._job, self._courier.steps.emit))


class JobRunner(QObject):
    """Call it with a job to have it driven; `finish` cancels all and waits."""

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._pool = QThreadPool(self)
        self._pool.setMaxThreadCount(2)
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

"""Long work as data: its progress, a way to cancel it, and how it ended.

A job is a generator: every step it yields is a report and a point where it can be
cancelled. Nothing here knows of threads or windows; `drive` runs a job to its end wherever
it is called, and whoever calls it decides how the steps travel to the session.
"""

import logging
import time
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import Any

from viewer.state.program.notifier import Notifier, Value

log = logging.getLogger(__name__)

DELIVERY_INTERVAL = 0.1
"""Seconds between two deliveries: often enough to look alive, rare enough not to stutter."""


@dataclass(frozen=True)
class Progress:
    """`done` of `total` (None when not known) and a few words on what is being done."""

    done: int = 0
    total: int | None = None
    text: str = ""


@dataclass(frozen=True, eq=False)
class Step:
    """What one yield of a job brings: progress and, for the taker, something new."""

    progress: Progress
    payload: Any = None


@dataclass(frozen=True)
class Outcome:
    """How a job ended: `kind` is "done", "cancelled" or "failed"; `text` is one sentence."""

    kind: str
    text: str = ""


Work = Callable[..., Iterator[Step]]
"""A generator function of a module with what it is given: all of it can go to another process."""


class Job:
    """One piece of long work. `steps` runs where it is driven, `take` where it is received."""

    def __init__(
        self,
        title: str,
        steps: Callable[[], Iterable[Step]],
        take: Callable[[Sequence[Any]], object],
    ) -> None:
        self.title = title
        self.steps = steps
        self.progress = Value(Progress())
        self.outcome: Value[Outcome | None] = Value(None)
        self._take = take
        self._cancelled = False

    @property
    def cancelled(self) -> bool:
        return self._cancelled

    def cancel(self) -> None:
        """Ask it to stop; what arrives after this is dropped."""
        if self.outcome.value is None:
            self._cancelled = True

    def receive(self, steps: Sequence[Step]) -> None:
        """Hand the payloads of some steps to the taker and show their progress."""
        if self._cancelled or not steps:
            return
        payloads = [step.payload for step in steps if step.payload is not None]
        if payloads:
            self._take(payloads)
        self.progress.value = steps[-1].progress

    def end(self, outcome: Outcome) -> None:
        self.outcome.value = outcome


def drive(
    job: Job,
    deliver: Callable[[Sequence[Step]], object],
    interval: float = DELIVERY_INTERVAL,
) -> Outcome:
    """Run the job here, calling `deliver` with the steps gathered since the last delivery."""
    gathered: list[Step] = []
    last = time.monotonic()
    try:
        for step in job.steps():
            if job.cancelled:
                return Outcome("cancelled", f"{job.title}: cancelled.")
            gathered.append(step)
            if time.monotonic() - last >= interval:
                deliver(gathered)
                gathered = []
                last = time.monotonic()
    except (OSError, ValueError) as problem:
        return Outcome("failed", str(problem))
    except Exception as problem:
        log.exception("%s failed", job.title)
        return Outcome("failed", f"{job.title} stopped unexpectedly: {problem!r}.")
    if gathered:
        deliver(gathered)
    if job.cancelled:
        return Outcome("cancelled", f"{job.title}: cancelled.")
    return Outcome("done")


class Jobs:
    """The jobs under way, oldest first. `runner` is who drives them: here, or on a thread."""

    def __init__(self) -> None:
        self.changed = Notifier()
        self.runner: Callable[[Job], object] = run_here
        self.elsewhere: Callable[..., Iterator[Step]] = here
        """Who computes what would take the window's turns: `elsewhere(work, *given)`."""
        self._running: list[Job] = []

    def __iter__(self) -> Iterator[Job]:
        return iter(tuple(self._running))

    @property
    def current(self) -> Job | None:
        return self._running[-1] if self._running else None

    def start(self, job: Job) -> None:
        self._running.append(job)
        job.outcome.changed.connect(self._tidy)
        self.changed.notify()
        self.runner(job)

    def cancel_all(self) -> None:
        for job in self:
            job.cancel()
        self.changed.notify()

    def _tidy(self, _: object) -> None:
        self._running = [job for job in self._running if job.outcome.value is None]
        self.changed.notify()


def here(work: Work, *given: Any) -> Iterator[Step]:
    """Done where it is asked for: by the command line and in tests."""
    return work(*given)


def run_here(job: Job) -> None:
    """Drive a job to its end before returning: for the command line and for tests."""
    job.end(drive(job, job.receive))

"""What the parts of an import share: one piece of work at a time, and a line that tells of it."""

from collections.abc import Callable

from viewer.state.program.jobs import Job, Jobs, Outcome
from viewer.state.program.notifier import Value
from viewer.state.session import Session


class ImportWork:
    def __init__(self, session: Session) -> None:
        self.session = session
        self.said: Value[str] = Value("")
        """The newest sentence."""
        self.under_way: Value[Job | None] = Value(None)
        """The reading or writing that other work waits for."""
        self._quiet = Jobs()
        self._quiet.runner = self._run

    def _run(self, job: Job) -> object:
        return self.session.jobs.runner(job)

    def start(self, job: Job, ended: Callable[[Outcome | None], object]) -> None:
        """Start what excludes other work; `ended`, a method, is called when it is over."""
        job.outcome.changed.connect(self._ended)
        job.outcome.changed.connect(ended)
        self.under_way.value = job
        self.session.jobs.start(job)

    def start_quietly(self, job: Job) -> None:
        """Start something small that the status line need not tell of."""
        self._quiet.start(job)

    def cancel(self) -> None:
        """Stop the work under way; what has arrived stays."""
        if self.under_way.value is not None:
            self.under_way.value.cancel()

    def _ended(self, _: Outcome | None) -> None:
        self.under_way.value = None

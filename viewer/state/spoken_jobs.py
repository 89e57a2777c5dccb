"""Jobs whose end is said in the status line: a file that was saved, a plot that was copied."""

from collections.abc import Callable, Iterator
from typing import Any

from viewer.state.program.jobs import Job, Outcome, Progress, Step
from viewer.state.session import Session


def one_step_job(
    title: str, work: Callable[[], Any], take: Callable[[Any], object] | None = None
) -> Job:
    """A job that does `work` where it is driven and gives what it brings to `take`, received."""

    def steps() -> Iterator[Step]:
        yield Step(Progress(1, 1), work())

    def received(payloads: Any) -> None:
        if take is not None:
            take(payloads[-1])

    return Job(title, steps, received)


class SpokenJobs:
    """Starts jobs and holds what speaks for each until it has ended."""

    def __init__(self) -> None:
        self._speakers: set[_Speaker] = set()

    def start(self, session: Session, job: Job, done: str, failed: str = "") -> None:
        """Run it and say `done` at its end, or `failed` and then why."""

        def say(speaker: "_Speaker", text: str) -> None:
            self._speakers.discard(speaker)
            session.message.value = text

        speaker = _Speaker(say, done, failed)
        self._speakers.add(speaker)
        job.outcome.changed.connect(speaker.hear)
        session.jobs.start(job)


class _Speaker:
    """Turns an outcome into a sentence; held by whoever started the job, as notifiers are weak."""

    def __init__(self, say: Callable[["_Speaker", str], object], done: str, failed: str) -> None:
        self._say, self._done, self._failed = say, done, failed

    def hear(self, outcome: Outcome) -> None:
        self._say(self, self._done if outcome.kind == "done" else self._failed + outcome.text)

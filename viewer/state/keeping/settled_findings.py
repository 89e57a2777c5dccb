"""Findings confirmed or corrected by an engineer: those of the open site, and each change."""

import getpass
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from pathlib import Path
from typing import Protocol

from viewer.analysis.causes.confirmation import Confirmation, RepairGain, field_record, repair_gain
from viewer.analysis.results.trace_result import TraceResult
from viewer.site_data.confirmations_file import FILE_NAME
from viewer.site_data.site_file.connection import looks_like_site_file, open_site_file
from viewer.state.keeping.folder_history import FileStep, FolderHistory, content_of
from viewer.state.keeping.settled_store import (
    NewlySettled,
    day_of,
    settled_in,
    settled_in_folder,
    store_in_folder,
    store_in_site_file,
)
from viewer.state.keeping.site_notes import SiteNotes
from viewer.state.program.jobs import Job, Jobs, Outcome, Progress, Step
from viewer.state.program.notifier import Notifier, Value


class OpenSite(Protocol):
    """What this needs of the session that it belongs to."""

    folder: Path | None
    jobs: Jobs
    message: Value[str]
    notes: SiteNotes
    history: FolderHistory
    kept_may_differ: Notifier

    def result(self, trace_id: str | None) -> TraceResult | None: ...

    def all_results_of(self, combiner: str) -> tuple[TraceResult, ...]: ...


@dataclass(frozen=True)
class Found:
    """What a job has read, and the step of the folder's history that it made."""

    confirmations: tuple[Confirmation, ...]
    step: FileStep | None = None


@dataclass(frozen=True)
class Entries:
    """What stands in the form about a trace: cause, action, parts as typed, id of the retest."""

    cause: str
    action: str
    parts: str
    retest: str | None = None


class SettledFindings:
    """What has been settled for the open site; every touch of a file is a job.

    Read when something else is opened, and when undo may have changed it.
    """

    def __init__(self, session: OpenSite) -> None:
        self.changed = Notifier()
        self.by_trace: dict[str, Confirmation] = {}
        self.unconfirmed: dict[str, Entries] = {}
        """By trace: what was entered and not yet confirmed when another string was turned to."""
        self._path: Path | None = None
        self._session = session
        session.kept_may_differ.connect(self.read)

    @property
    def every(self) -> tuple[Confirmation, ...]:
        return tuple(self.by_trace.values())

    def record(self) -> str:
        """How the suggestions fared, in words."""
        return field_record(self.every).text()

    def where(self) -> str:
        """Where they are kept, in words."""
        folder = self._session.folder
        if folder is None:
            return ""
        if folder.is_file():
            return f"kept in {folder.name}"
        return f"a folder has no site file: kept beside it in {FILE_NAME}"

    def read(self, *_: object) -> None:
        """Read those of what is open."""
        path = self._session.folder
        if path != self._path:
            self._path = path
            self.unconfirmed.clear()
        self.by_trace = {}
        self.changed.notify()
        if path is not None and path.exists():
            self._start(path, None)

    def settle(self, result: TraceResult, confirmation: Confirmation) -> None:
        """Keep a confirmation of a trace in the place of an earlier one."""
        path = self._session.folder
        if path is None:
            return
        signed = replace(
            confirmation,
            author=confirmation.author or _user(),
            confirmed_at=datetime.now(UTC).replace(microsecond=0),
        )
        first = signed.trace not in self.by_trace
        trace = result.trace
        retest = self._session.result(signed.retest)
        days = (day_of(trace), day_of(retest.trace) if retest else None)
        new = NewlySettled(signed, *trace.place, first, *days)
        self._start(path, new)

    def retests(self, result: TraceResult) -> tuple[TraceResult, ...]:
        """Later traces of the same string."""
        at = result.trace.measured_at
        return tuple(
            one
            for one in self._session.all_results_of(result.trace.combiner or "")
            if one.trace.string == result.trace.string
            and at is not None
            and one.trace.measured_at is not None
            and one.trace.measured_at > at
        )

    def gain(self, confirmation: Confirmation) -> RepairGain | str | None:
        """What the repair brought, or why that cannot be told; None without a retest."""
        before = self._session.result(confirmation.trace)
        if confirmation.retest is None or before is None:
            return None
        after = self._session.result(confirmation.retest)
        if after is None:
            return f"The retest trace {confirmation.retest} is not among what is open."
        try:
            return repair_gain(before, after)
        except ValueError as problem:
            return str(problem)

    def _start(self, path: Path, new: NewlySettled | None) -> None:
        title = "Settled findings" if new is None else "Keeping the finding"
        job: Job = Job(title, lambda: _steps(path, new), lambda found: self._take(path, new, found))
        job.outcome.changed.connect(self._ended)
        self._session.jobs.start(job)

    def _take(self, path: Path, new: NewlySettled | None, found: Sequence[Found]) -> None:
        if path != self._session.folder:
            return
        self.by_trace = {one.trace: one for one in found[-1].confirmations}
        if new is not None:
            self._session.message.value = f"{new.label} kept."
            if path.is_file():
                self._session.notes.show(path)
        if found[-1].step is not None:
            self._session.history.did(found[-1].step)
        self.changed.notify()

    def _ended(self, outcome: Outcome) -> None:
        if outcome.kind == "failed":
            self._session.message.value = outcome.text


def _steps(path: Path, new: NewlySettled | None) -> Iterator[Step]:
    yield Step(Progress(0, 1, path.name))
    if path.is_file() and looks_like_site_file(path):
        with open_site_file(path) as site_file:
            if new is not None:
                store_in_site_file(site_file, new)
            found = Found(tuple(settled_in(site_file)))
    else:
        found = _in_folder(path, new)
    yield Step(Progress(1, 1, path.name), found)


def _in_folder(path: Path, new: NewlySettled | None) -> Found:
    kept = settled_in_folder(path)
    if new is None:
        return Found(tuple(kept))
    file = path / FILE_NAME
    before = content_of(file)
    kept = [*(one for one in kept if one.trace != new.confirmation.trace), new.confirmation]
    store_in_folder(path, kept)
    return Found(tuple(kept), FileStep(new.label, file, before, content_of(file)))


def _user() -> str | None:
    try:
        return getpass.getuser()
    except (OSError, KeyError, ImportError):
        return None

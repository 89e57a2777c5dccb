"""Notes, findings and repairs kept in the open site file, with undo, and imports into one.

Every touch of the file is a job that opens the file, does one thing and closes it, so that a file
that another program holds never stops the window.
"""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime
from pathlib import Path

from viewer.physics.nomenclature import counted
from viewer.site_data.report_details_file import EnteredDetails
from viewer.site_data.site_file.annotation_listing import Annotation, list_annotations
from viewer.site_data.site_file.annotations import (
    About,
    Repair,
    add_finding,
    add_note,
    add_repair,
    close_finding,
    read_repairs,
    string_id,
)
from viewer.site_data.site_file.baseline import baseline_visit
from viewer.site_data.site_file.connection import SiteFile, open_site_file
from viewer.site_data.site_file.journal import operations
from viewer.site_data.site_file.stored_results import traces_without_results
from viewer.state.keeping.report_texts import details_in
from viewer.state.keeping.site_import import (
    ImportStep,
    analysis_steps,
    making_up_steps,
    storing_steps,
)
from viewer.state.keeping.site_steps import do_again, take_back
from viewer.state.opening.worker_processes import worth_sharing
from viewer.state.program.jobs import Job, Jobs, Outcome, Progress, Step
from viewer.state.program.notifier import Notifier, Value
from viewer.state.years.kept_choices import KeptChoices, choices_in, store_in_site_file

NEEDS_SITE_FILE = (
    "A folder keeps no notes. Save it as a site file (File menu) to add notes, findings and "
    "repairs; the folder stays as it is."
)
KINDS: dict[str, str] = {"note": "Note", "finding": "Finding", "repair": "Repair"}


@dataclass(frozen=True)
class Kept:
    """What the site file keeps beside its traces, at one moment.

    `undo` and `redo` name the steps that can be taken back or done again; None: there is none.
    """

    annotations: tuple[Annotation, ...]
    repairs: tuple[Repair, ...]
    undo: str | None
    redo: str | None
    shown_traces: int
    shown_imports: int
    read_only: bool
    said: str = ""
    """One sentence on what has just been done."""
    choices: KeptChoices = field(default_factory=KeptChoices)
    baseline_start: datetime | None = None
    """When the visit began that the file marks as the baseline."""
    entries: EnteredDetails | None = None
    """What was entered for reports; None where it cannot be used."""
    without_numbers: int = 0
    """Shown traces without key numbers: undo has made the layout another."""


@dataclass(frozen=True)
class NewEntry:
    """What somebody typed about a string; `done_on` counts for repairs, `cause` for findings."""

    kind: str
    combiner: str
    string: str
    text: str
    done_on: date | None = None
    cause: str | None = None


class SiteNotes:
    """The notes of the open site file; nothing for a folder."""

    def __init__(self, jobs: Jobs, message: Value[str]) -> None:
        self.changed = Notifier()
        """The notes, or what can be undone, are others."""
        self.traces_changed = Notifier()
        """Undo or redo has hidden or brought back an import, with its traces and its part of the
        layout; passes the path of the file."""
        self.imported = Notifier()
        """A folder was stored in a site file; passes the path of the file."""
        self.said_of_import = ""
        """What the last import stored and what it left, in sentences."""
        self.path: Path | None = None
        self.kept: Kept | None = None
        self._jobs = jobs
        self._message = message
        self._target: Path | None = None
        self._running: list[Job] = []

    def show(self, path: Path | None) -> None:
        """Follow the site file at a path, or none."""
        self.path, self.kept = path, None
        self.changed.notify()
        if path is not None:
            self._do("Notes", _nothing)

    def renew(self, *_: object) -> None:
        """Read them again: something else has made a step in the site file."""
        if self.path is not None:
            self._do("Notes", _nothing)

    def add(self, entry: NewEntry) -> None:
        """Store what was typed."""
        self._do(KINDS[entry.kind], lambda site_file: _add(site_file, entry))

    def close_finding(self, number: int) -> None:
        self._do("Close finding", lambda site_file: _close(site_file, number))

    def keep_choices(self, label: str, choices: KeptChoices) -> None:
        """Store baseline and warranty terms, as one step."""
        self._do(label, lambda site_file: _choose(site_file, label, choices))

    def undo(self) -> None:
        self._do("Undo", take_back)

    def redo(self) -> None:
        self._do("Redo", do_again)

    def _do(self, title: str, deed: Callable[[SiteFile], str]) -> None:
        path = self.path
        if path is None:
            self._message.value = NEEDS_SITE_FILE
            return
        self._start(Job(title, lambda: _steps(path, deed), self._take))

    def _start(self, job: Job) -> None:
        self._running.append(job)
        job.outcome.changed.connect(self._ended)
        self._jobs.start(job)

    def _take(self, found: Sequence[Kept]) -> None:
        before, self.kept = self.kept, found[-1]
        if found[-1].said:
            self._message.value = found[-1].said
        self.changed.notify()
        if before is None or self.path is None:
            return
        if (before.shown_traces, before.shown_imports) != (
            found[-1].shown_traces,
            found[-1].shown_imports,
        ):
            path = self.path
            if found[-1].without_numbers:
                self._start(Job("Comparing anew", lambda: self._numbers(path, found[-1]), _nothing))
            self.traces_changed.notify(path)

    def _numbers(self, path: Path, kept: Kept) -> Iterator[Step]:
        """Key numbers for the layout as it is now; the window computes its own results."""
        if worth_sharing(kept.without_numbers):
            yield from _making_up(path)
        else:
            yield from self._jobs.elsewhere(_making_up, path)

    def _ended(self, outcome: Outcome) -> None:
        self._running = [job for job in self._running if job.outcome.value is None]
        if outcome.kind == "failed":
            self._message.value = outcome.text

    def import_folder(self, folder: Path, site_file: Path) -> None:
        """Store a visit folder in a site file, new or known; `imported` tells when it is done."""
        job = Job(
            f"Saving {site_file.name}",
            lambda: self._import_steps(folder, site_file),
            self._took_import,
        )
        self._target = site_file
        job.outcome.changed.connect(self._import_ended)
        self._start(job)

    def _import_steps(self, folder: Path, site_file: Path) -> Iterator[Step]:
        """In a process of its own, but for an analysis that is worth several: those are started
        from here."""
        stored: tuple[int, ...] = ()
        for step in self._jobs.elsewhere(_storing, folder, site_file):
            yield step
            if step.payload is not None:
                stored = step.payload.outcome.to_analyse
        if worth_sharing(len(stored)):
            yield from _analysing(site_file, stored)
        else:
            yield from self._jobs.elsewhere(_analysing, site_file, stored)

    def _took_import(self, steps: Sequence[ImportStep]) -> None:
        for step in steps:
            if step.outcome is not None:
                count, known = len(step.outcome.trace_ids), step.outcome.known_before
                text = f"{counted(count, 'trace')} stored"
                if known:
                    text += f", {counted(known, 'file')} known before"
                said = [f"{text} in {self._target}."]
                if step.carried is not None:  # what was left first: a status line is short
                    said = [step.carried.left_text(), *said, step.carried.text()]
                self.said_of_import = " ".join(one for one in said if one)
                self._message.value = self.said_of_import

    def _import_ended(self, outcome: Outcome) -> None:
        target, self._target = self._target, None
        if outcome.kind == "done" and target is not None:
            self.imported.notify(target)


def _steps(path: Path, deed: Callable[[SiteFile], str]) -> Iterator[Step]:
    yield Step(Progress(0, None, path.name))
    with open_site_file(path) as site_file:
        said = deed(site_file)
        kept = read_kept(site_file, said)
    yield Step(Progress(1, 1, path.name), kept)


def _storing(folder: Path, site_file: Path) -> Iterator[Step]:
    for step in storing_steps(folder, site_file):
        yield Step(step.progress, step if step.outcome is not None else None)


def _analysing(site_file: Path, stored: tuple[int, ...]) -> Iterator[Step]:
    for step in analysis_steps(site_file, stored, behind_window=True):
        yield Step(step.progress)


def _making_up(site_file: Path) -> Iterator[Step]:
    for step in making_up_steps(site_file, behind_window=True):
        yield Step(step.progress)


def read_kept(site_file: SiteFile, said: str = "") -> Kept:
    """Everything kept in the file beside its traces. Raises SiteFileError."""
    journal = operations(site_file)
    done = [one.label for one in journal if one.state == "done"]
    undone = [one.label for one in journal if one.state == "undone"]
    marked = baseline_visit(site_file)
    with site_file.reading() as connection:
        (count,) = connection.execute("SELECT count(*) FROM current_traces").fetchone()
        (imports,) = connection.execute("SELECT count(*) FROM imports WHERE hidden = 0").fetchone()
        missing = len(traces_without_results(connection))
    return Kept(
        tuple(list_annotations(site_file)),
        tuple(read_repairs(site_file)),
        done[-1] if done and not site_file.read_only else None,
        undone[0] if undone and not site_file.read_only else None,
        int(count),
        int(imports),
        site_file.read_only,
        said,
        choices_in(site_file),
        marked.started_at if marked else None,
        _entries(site_file),
        missing,
    )


def _entries(site_file: SiteFile) -> EnteredDetails | None:
    try:
        return details_in(site_file)
    except ValueError:
        return None  # the report form says why when the site is opened


def _nothing(_: object) -> str:
    return ""


def _add(site_file: SiteFile, entry: NewEntry) -> str:
    place = f"{entry.combiner} / {entry.string}"
    if entry.kind == "repair":
        day = entry.done_on or date.today()
        add_repair(site_file, Repair(entry.combiner, entry.string, day, entry.text))
        return f"Repair of {place} stored."
    about = About(string_id=string_id(site_file, entry.combiner, entry.string))
    if entry.kind == "finding":
        add_finding(site_file, about, entry.text, entry.cause)
        return f"Finding on {place} stored."
    add_note(site_file, about, entry.text)
    return f"Note on {place} stored."


def _close(site_file: SiteFile, number: int) -> str:
    close_finding(site_file, number)
    return f"Finding {number} closed."


def _choose(site_file: SiteFile, label: str, choices: KeptChoices) -> str:
    store_in_site_file(site_file, choices, label)
    return f"{label} kept with the site."


def about_string(
    kept: Kept, combiner: str, string: str, sources: Sequence[str]
) -> tuple[Annotation, ...]:
    """What belongs to one string or to one of its traces."""
    mine = {f"{combiner}/{string}", *sources}
    return tuple(one for one in kept.annotations if one.about in mine)

"""An import from the first file dropped to a visit folder, with a folder watched meanwhile."""

import time
from collections.abc import Iterable, Iterator, Sequence
from pathlib import Path

from viewer.physics.nomenclature import counted
from viewer.reading.many_files import ReadingStep, read_files
from viewer.reading.trace_files import TraceFile, trace_files
from viewer.reading.visits.watched_folder import WatchedFolder
from viewer.state.importing.import_files import ImportFiles, resolved
from viewer.state.importing.import_recipe import ImportRecipe
from viewer.state.importing.import_work import ImportWork
from viewer.state.importing.import_writing import ImportWriting
from viewer.state.program.jobs import Job, Outcome, Progress, Step
from viewer.state.program.notifier import Value
from viewer.state.program.time_left import time_left
from viewer.state.session import Session


class Importing:
    """Nothing is read or written that was not asked for."""

    def __init__(self, session: Session) -> None:
        self.work = ImportWork(session)
        self.files = ImportFiles()
        self.recipe = ImportRecipe(self.files, self.work)
        self.writing = ImportWriting(self.files, self.work)
        self.watched: Value[WatchedFolder | None] = Value(None)
        self._looking = False

    @property
    def said(self) -> Value[str]:
        return self.work.said

    def add(self, paths: Iterable[str | Path], quietly: bool = False) -> None:
        """Files, and what lies in folders; what was added before stays.

        quietly: nothing is said of it, nor of there being no files.
        """
        wanted = tuple(paths)

        def steps() -> Iterator[Step]:
            yield Step(Progress(), resolved(trace_files(wanted)))

        job = Job("Listing files", steps, self._listed_quietly if quietly else self._listed)
        if not quietly:
            job.outcome.changed.connect(self._listing_ended)
        self.work.start_quietly(job)

    def _listed(self, payloads: Sequence[list[TraceFile]]) -> None:
        added = self._listed_quietly(payloads)
        if added:
            self.said.value = f"{counted(added, 'file')} added; not read yet."
        else:
            self.said.value = "These files are in the list already."

    def _listed_quietly(self, payloads: Sequence[list[TraceFile]]) -> int:
        added = self.files.add(payloads[-1])
        if added and self.recipe.current.value is None:
            self.recipe.choose(added[0])
        return len(added)

    def _listing_ended(self, outcome: Outcome | None) -> None:
        if outcome is not None and outcome.kind == "failed":
            self.said.value = outcome.text

    def clear(self) -> None:
        """Empty the list; the recipe stays."""
        self.work.cancel()
        self.files.clear()
        self.writing.forget()
        self.recipe.choose(None)
        self.said.value = ""

    def read(self, names: Iterable[str] | None = None) -> None:
        """Read those of the named files (None: of all) that are waiting."""
        if self.work.under_way.value is not None:
            return
        wanted = None if names is None else set(names)
        files = [one for one in self.files.waiting() if wanted is None or one.source in wanted]
        if not files:
            self.said.value = "No file is waiting to be read."
            return
        recipe, known = self.recipe.recipe.value, self.files.report.known()
        started = time.monotonic()

        def steps() -> Iterator[Step]:
            for step in read_files(files, recipe, known):
                left = time_left(time.monotonic() - started, step.done, step.total)
                yield Step(Progress(step.done, step.total, left), step)

        self.work.start(
            Job(f"Reading {counted(len(files), 'file')}", steps, self._take), self._read_ended
        )

    def retry(self) -> None:
        """Read again what failed, by the recipe as it is now."""
        if self.work.under_way.value is None:
            failed = [file.source for file in self.files.report.files_to_retry()]
            self.files.forget(failed)
            self.read(failed)

    def read_again(self) -> None:
        """Read every file again, by the recipe as it is now."""
        if self.work.under_way.value is None:
            self.files.forget(list(self.files.by_name))
            self.read()

    def _take(self, steps: Sequence[ReadingStep]) -> None:
        self.files.take(steps)

    def _read_ended(self, outcome: Outcome | None) -> None:
        if outcome is None:
            return
        if outcome.kind == "failed":
            self.said.value = outcome.text
        elif outcome.kind == "cancelled":
            waiting = counted(len(self.files.waiting()), "file")
            self.said.value = f"Cancelled with {waiting} still waiting. {self.files.summary()}"
        else:
            self.said.value = self.files.summary()
            if self.watched.value is not None:
                self.writing.write_again(newest=True)

    def watch(self, folder: Path | None) -> None:
        """Read new files of that folder as they appear; what lies there now is only listed."""
        if folder is None:
            self.watched.value = None
            self.said.value = "No folder is watched any more."
            return
        visit = self.writing.visit
        if visit is not None and (problem := self.writing.problem(visit.folder, folder)):
            self.said.value = problem
            return
        self.add([folder], quietly=True)
        self.watched.value = WatchedFolder(folder)
        self.said.value = f"Watching {folder}: new files are read as they appear."
        self.look()

    def write(self, folder: Path) -> None:
        """Write what has been read into a visit folder, and open it."""
        watched = self.watched.value
        self.writing.write(folder, watched.path if watched is not None else None)

    def look(self) -> None:
        """Look once whether the watched folder has new files; call it now and then."""
        watched = self.watched.value
        if watched is None or self._looking or self.work.under_way.value is not None:
            return

        def steps() -> Iterator[Step]:
            yield Step(Progress(), (watched, resolved(watched.new_files())))

        job = Job(f"Looking into {watched.path}", steps, self._found)
        self._looking = True
        job.outcome.changed.connect(self._looked)
        self.work.start_quietly(job)

    def _looked(self, _: Outcome | None) -> None:
        self._looking = False

    def _found(self, payloads: Sequence[tuple[WatchedFolder, list[TraceFile]]]) -> None:
        watched, files = payloads[-1]
        if not files or watched is not self.watched.value:
            return
        self.files.add(files)
        names = self.files.names_of(files)
        self.files.forget(names)
        self.recipe.choose(names[-1])
        self.read(names)

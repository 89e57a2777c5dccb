"""The end of an import: conditions joined from a log, traces into a visit folder, opened."""

from collections.abc import Iterator, Sequence
from pathlib import Path

from viewer.physics.nomenclature import counted, with_minus
from viewer.site_data.iv_trace import Trace
from viewer.state.importing.import_files import ImportFiles
from viewer.state.importing.import_work import ImportWork
from viewer.state.importing.imported_visit import ImportedVisit, folder_problem, write_steps
from viewer.state.importing.log_joining import LogChoice, LoggedTraces, join_log
from viewer.state.program.jobs import Job, Outcome, Progress, Step
from viewer.state.program.notifier import Notifier, Value

JOINING = "joining conditions"


class ImportWriting:
    def __init__(self, files: ImportFiles, work: ImportWork) -> None:
        self.log: Value[LogChoice | None] = Value(None)
        """The log whose readings the traces are given when they are written."""
        self.log_said: Value[str] = Value("")
        """What came of joining it."""
        self.with_site = True
        """Describe a folder that has no site.toml by the open site."""
        self.visit: ImportedVisit | None = None
        self.opened = Notifier()
        """The folder was written and is being opened."""
        self._files = files
        self._work = work
        self._select_newest = False
        work.session.loaded.connect(self._loaded)

    def forget(self) -> None:
        """Another import begins: what was written before is no longer replaced."""
        self.visit = None

    def try_log(self) -> None:
        """Join the log to what has been read so far, only to say what comes of it."""
        choice, traces = self.log.value, self._files.report.traces
        if choice is None or self._work.under_way.value is not None:
            return
        if not traces:
            self.log_said.value = "Read the files first: there are no traces to join it to."
            return

        def steps() -> Iterator[Step]:
            yield Step(Progress(0, 1, JOINING))
            yield Step(Progress(1, 1, JOINING), join_log(traces, choice))

        self._work.start(Job(f"Joining {choice.path.name}", steps, self._joined), self._tried)

    def _joined(self, payloads: Sequence[LoggedTraces]) -> None:
        joined = payloads[-1]
        offset = f" with a clock offset of {joined.clock_offset:+.0f} s" * bool(joined.clock_offset)
        first = f"Traces with a reading{offset}: {joined.matched:,} of {len(joined.traces):,}."
        self.log_said.value = with_minus("\n".join((first, *joined.said)))

    def _tried(self, outcome: Outcome | None) -> None:
        if outcome is not None and outcome.kind != "done":
            self.log_said.value = outcome.text

    def problem(self, folder: Path, watched: Path | None = None) -> str | None:
        """Why the traces should not go to that folder; None if they may."""
        return folder_problem(folder, tuple(self._files.by_name.values()), watched)

    def write(self, folder: Path, watched: Path | None = None) -> None:
        """Write what has been read into a visit folder and open it."""
        problem = self.problem(folder, watched)
        if problem is not None:
            self._work.said.value = problem
            return
        if self.visit is None or self.visit.folder != folder:
            self.visit = ImportedVisit(folder)
        self.write_again()

    def write_again(self, newest: bool = False) -> None:
        """Write what is new since; `newest`: then select the trace written last."""
        visit, traces = self.visit, self._files.report.traces
        if visit is None or self._work.under_way.value is not None:
            return
        if not traces:
            self._work.said.value = "Nothing has been read that could be written."
            return
        self._select_newest = newest
        choice = self.log.value
        layout = self._work.session.layout if self.with_site else None
        described = layout if layout is not None and layout.combiners else None

        def steps() -> Iterator[Step]:
            given: tuple[Trace, ...] = traces
            if choice is not None:
                yield Step(Progress(0, len(traces), JOINING))
                joined = join_log(traces, choice)
                given = joined.traces
                yield Step(Progress(0, len(traces), JOINING), joined)
            for progress in write_steps(visit, given, described):
                yield Step(progress)

        self._work.start(Job(f"Writing {visit.folder.name}", steps, self._joined), self._written)

    def _written(self, outcome: Outcome | None) -> None:
        visit = self.visit
        if outcome is None or visit is None:
            return
        if outcome.kind != "done":
            self._work.said.value = outcome.text
            return
        known = visit.already_there
        self._work.said.value = f"Written to {visit.folder}" + (
            f"; {counted(known, 'trace')} there already." if known else "."
        )
        self._work.session.open(visit.folder)
        self.opened.notify()

    def _loaded(self) -> None:
        """The trace that came last is the one to look at."""
        session, visit = self._work.session, self.visit
        if not self._select_newest or visit is None or session.folder != visit.folder.absolute():
            return
        self._select_newest = False
        if visit.newest is not None and session.result(visit.newest) is not None:
            session.selection.choose([visit.newest])

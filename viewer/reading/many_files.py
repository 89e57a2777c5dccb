"""Many files one after the other: a generator with progress, and a report of how each went."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace

from viewer.physics.nomenclature import counted
from viewer.reading.file_reading import FileReading, read_file
from viewer.reading.recipes.recipe import Recipe
from viewer.reading.trace_files import TraceFile
from viewer.reading.visits.names_from_path import with_path_names
from viewer.site_data.iv_trace import Trace, Unreadable


@dataclass(frozen=True)
class Duplicate:
    """A file with the same bytes (SHA-256) as one that was read before; it was left out."""

    source: str
    same_as: str


@dataclass(frozen=True)
class ReadingStep:
    """One file done: `done` of `total`, and either its reading or of what it is a copy."""

    done: int
    total: int
    file: TraceFile
    reading: FileReading | None = None
    duplicate: Duplicate | None = None


@dataclass
class ReadingReport:
    """How each file went; feed it every step with `take`."""

    readings: dict[str, tuple[TraceFile, FileReading]] = field(default_factory=dict)
    duplicates: list[Duplicate] = field(default_factory=list)

    def take(self, step: ReadingStep) -> None:
        """Notes a step; a file that was noted before, such as on a retry, is replaced."""
        if step.reading is not None:
            self.readings[step.file.source] = (step.file, step.reading)
        if step.duplicate is not None:
            self.duplicates.append(step.duplicate)

    @property
    def traces(self) -> tuple[Trace, ...]:
        """All traces that were read, doubtful or not."""
        return tuple(trace for _, one in self.readings.values() for trace in one.traces)

    @property
    def doubtful(self) -> tuple[FileReading, ...]:
        """Files that were read but that a person should look at."""
        return tuple(one for _, one in self.readings.values() if one.doubts and one.traces)

    @property
    def failures(self) -> tuple[Unreadable, ...]:
        """Each file, or trace of a file, that could not be read, and why."""
        return tuple(bad for _, one in self.readings.values() for bad in one.failures)

    def files_to_retry(self) -> list[TraceFile]:
        """Files with a failure, to be read again once the recipe or the files have changed."""
        return [file for file, one in self.readings.values() if one.failures]

    def known(self) -> dict[str, str]:
        """SHA-256 of every file that gave a trace, to its source: `known` of a later run."""
        return {
            one.sha256: source
            for source, (_, one) in self.readings.items()
            if one.sha256 is not None and one.traces
        }

    def summary(self) -> str:
        """The numbers in one sentence."""
        traces, failed = len(self.traces), len(self.files_to_retry())
        parts = [f"{counted(traces, 'trace')} from {counted(len(self.readings), 'file')}"]
        if self.doubtful:
            parts.append(f"{counted(len(self.doubtful), 'file')} to look at")
        if failed:
            parts.append(f"{counted(failed, 'file')} with what could not be read")
        if self.duplicates:
            parts.append(f"{counted(len(self.duplicates), 'copy', 'copies')} left out")
        return ", ".join(parts) + "."


def read_files(
    files: Sequence[TraceFile],
    recipe: Recipe | None = None,
    known: Mapping[str, str] | None = None,
) -> Iterator[ReadingStep]:
    """Reads the files in their order; stop taking steps to cancel.

    known: SHA-256 to the source of files read before, whose copies are left out. Names that
    neither file nor recipe gives come from the path.
    """
    seen = dict(known or {})
    for done, file in enumerate(files, start=1):
        reading = read_file(file.path, file.source, recipe)
        first = seen.get(reading.sha256 or "")
        if first is not None and first != file.source:
            duplicate = Duplicate(file.source, first)
            yield ReadingStep(done, len(files), file, duplicate=duplicate)
            continue
        if reading.sha256 is not None and reading.traces:
            seen[reading.sha256] = file.source
        yield ReadingStep(done, len(files), file, _named(reading))


def _named(reading: FileReading) -> FileReading:
    traces = tuple(with_path_names(trace) for trace in reading.traces)
    return replace(reading, traces=traces, tables=())  # tables of thousands of files fill memory

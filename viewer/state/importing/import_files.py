"""The files of an import and what became of each."""

from collections.abc import Iterable, Sequence
from pathlib import Path

from viewer.reading.many_files import ReadingReport, ReadingStep
from viewer.reading.trace_files import TraceFile
from viewer.state.importing.import_rows import ImportRow, copy_row, read_row, waiting_row
from viewer.state.program.notifier import Notifier


class ImportFiles:
    """Files by name, in the order they came; a file stays until the list is emptied.

    Their paths are resolved, so that the same file is known again.
    """

    def __init__(self) -> None:
        self._names: dict[Path, str] = {}
        self.by_name: dict[str, TraceFile] = {}
        self.report = ReadingReport()
        self.changed = Notifier()
        """Files came or went."""
        self.rows_changed = Notifier()
        """What became of some files is known now; passes their names."""
        self._rows: dict[str, ImportRow] = {}

    def add(self, found: Iterable[TraceFile]) -> list[str]:
        """Lists the files that are new, and returns their names.

        One whose name is taken is called by its whole path.
        """
        added = []
        for file in found:
            if file.path in self._names:
                continue
            taken = file.source in self.by_name
            one = TraceFile(file.path, file.path.as_posix()) if taken else file
            self.by_name[one.source] = one
            self._names[one.path] = one.source
            self._rows[one.source] = waiting_row(one.source)
            added.append(one.source)
        if added:
            self.changed.notify()
        return added

    def names_of(self, files: Iterable[TraceFile]) -> list[str]:
        """How the list calls these files."""
        return [self._names[one.path] for one in files if one.path in self._names]

    def clear(self) -> None:
        self.by_name, self._rows, self._names, self.report = {}, {}, {}, ReadingReport()
        self.changed.notify()

    def row(self, name: str) -> ImportRow:
        return self._rows[name]

    @property
    def rows(self) -> tuple[ImportRow, ...]:
        return tuple(self._rows.values())

    def waiting(self) -> list[TraceFile]:
        """Files that have not been read, in the order they came."""
        known = set(self.report.readings) | {one.source for one in self.report.duplicates}
        return [file for name, file in self.by_name.items() if name not in known]

    def forget(self, names: Sequence[str]) -> None:
        """What became of these files: they are waiting again."""
        gone = set(names)
        for name in names:
            self.report.readings.pop(name, None)
            self._rows[name] = waiting_row(name)
        kept = [one for one in self.report.duplicates if one.source not in gone]
        self.report.duplicates = kept
        self.rows_changed.notify(tuple(names))

    def take(self, steps: Sequence[ReadingStep]) -> None:
        """Notes what became of some files; those no longer listed are left out."""
        changed = []
        for step in steps:
            name = step.file.source
            if name not in self.by_name:
                continue
            self.report.take(step)
            if step.duplicate is not None:
                self._rows[name] = copy_row(name, step.duplicate.same_as)
            elif step.reading is not None:
                self._rows[name] = read_row(step.reading)
            changed.append(name)
        self.rows_changed.notify(tuple(changed))

    def summary(self) -> str:
        """How much was read, in one sentence."""
        text = self.report.summary()
        return text[:1].upper() + text[1:]


def resolved(files: Iterable[TraceFile]) -> list[TraceFile]:
    """The same files by the paths that `ImportFiles` wants; slow for thousands."""
    return [TraceFile(file.path.resolve(), file.source) for file in files]

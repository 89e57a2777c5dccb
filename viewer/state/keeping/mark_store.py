"""Where the marks on plots are kept: in the site file, or in a file beside a visit folder."""

from pathlib import Path
from typing import Protocol

from viewer.reports.annotation import (
    KINDS,
    Annotation,
    PlacedAnnotation,
    as_table,
    from_table,
)
from viewer.site_data.plot_marks_file import FILE_NAME, read_marks_file, write_marks_file
from viewer.site_data.site_file.connection import looks_like_site_file, open_site_file
from viewer.site_data.site_file.plot_marks import (
    LABEL,
    add_plot_mark,
    change_plot_mark,
    read_plot_marks,
    remove_plot_mark,
)
from viewer.state.keeping.folder_history import FolderHistory
from viewer.state.program.notifier import Value


class MarkStore(Protocol):
    """Every change is kept at once, as a step that can be undone.

    All raise ValueError or OSError.
    """

    def read(self) -> list[PlacedAnnotation]: ...

    def add(self, trace_id: str, mark: Annotation) -> int: ...

    def change(self, number: int, mark: Annotation, label: str) -> None: ...

    def remove(self, number: int) -> None: ...


def store_for(path: Path, history: FolderHistory | None = None) -> MarkStore:
    """The store of what is open at a path; a folder's steps go into the history, if any."""
    if path.is_file() and looks_like_site_file(path):
        return SiteFileMarks(path)
    return FolderMarks(path, history or FolderHistory(Value("")))


class SiteFileMarks:
    """In the site file, by its journal. The file is opened for each step: many may share it."""

    def __init__(self, path: Path) -> None:
        self._path = path

    def read(self) -> list[PlacedAnnotation]:
        with open_site_file(self._path) as site_file:
            rows = read_plot_marks(site_file)
        return [PlacedAnnotation(number, source, from_table(t)) for number, source, t in rows]

    def add(self, trace_id: str, mark: Annotation) -> int:
        with open_site_file(self._path) as site_file:
            return add_plot_mark(site_file, trace_id, as_table(mark), _named("add", mark))

    def change(self, number: int, mark: Annotation, label: str) -> None:
        with open_site_file(self._path) as site_file:
            change_plot_mark(site_file, number, as_table(mark), _named(label, mark))

    def remove(self, number: int) -> None:
        with open_site_file(self._path) as site_file:
            remove_plot_mark(site_file, number, "delete")


Marks = tuple[PlacedAnnotation, ...]


class FolderMarks:
    """In plot_marks.toml of a visit folder; each change is a step of the folder's history."""

    def __init__(self, folder: Path, history: FolderHistory) -> None:
        self._folder = folder
        self._history = history
        self._marks: Marks = ()

    def read(self) -> list[PlacedAnnotation]:
        tables = read_marks_file(self._folder)
        self._marks = tuple(
            PlacedAnnotation(number, source, from_table(table))
            for number, (source, table) in enumerate(tables, start=1)
        )
        return list(self._marks)

    def add(self, trace_id: str, mark: Annotation) -> int:
        number = len(self._marks) + 1
        placed = PlacedAnnotation(number, trace_id, mark)
        self._step(_named("add", mark), (*self._marks, placed))
        return number

    def change(self, number: int, mark: Annotation, label: str) -> None:
        changed = tuple(
            PlacedAnnotation(number, one.trace_id, mark) if one.number == number else one
            for one in self._marks
        )
        self._step(_named(label, mark), changed)

    def remove(self, number: int) -> None:
        self._step("delete", tuple(one for one in self._marks if one.number != number))

    def _step(self, label: str, marks: Marks) -> None:
        tables = [(one.trace_id, as_table(one.mark)) for one in marks]
        self._history.change_file(
            f"{LABEL}: {label}",
            self._folder / FILE_NAME,
            lambda: write_marks_file(self._folder, tables),
        )
        self._marks = marks


def _named(step: str, mark: Annotation) -> str:
    return f"{step} {KINDS[mark.kind][0].lower()}"

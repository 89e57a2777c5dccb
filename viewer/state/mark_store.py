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
from viewer.site_data.plot_marks_file import read_marks_file, write_marks_file
from viewer.site_data.site_file.connection import looks_like_site_file, open_site_file
from viewer.site_data.site_file.plot_marks import (
    add_plot_mark,
    change_plot_mark,
    read_plot_marks,
    redo_plot_mark,
    remove_plot_mark,
    undo_plot_mark,
)


class MarkStore(Protocol):
    """Every change is kept at once and can be undone. All raise ValueError or OSError."""

    def read(self) -> list[PlacedAnnotation]: ...

    def add(self, trace_id: str, mark: Annotation) -> int: ...

    def change(self, number: int, mark: Annotation, label: str) -> None: ...

    def remove(self, number: int) -> None: ...

    def undo(self) -> str | None: ...

    def redo(self) -> str | None: ...


def store_for(path: Path) -> MarkStore:
    """The store of what is open at a path."""
    if path.is_file() and looks_like_site_file(path):
        return SiteFileMarks(path)
    return FolderMarks(path)


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

    def undo(self) -> str | None:
        with open_site_file(self._path) as site_file:
            return undo_plot_mark(site_file)

    def redo(self) -> str | None:
        with open_site_file(self._path) as site_file:
            return redo_plot_mark(site_file)


Marks = tuple[PlacedAnnotation, ...]


class FolderMarks:
    """In plot_marks.toml of a visit folder; undo lasts as long as the folder is open."""

    def __init__(self, folder: Path) -> None:
        self._folder = folder
        self._marks: Marks = ()
        self._next = 1
        self._done: list[tuple[str, Marks]] = []
        self._undone: list[tuple[str, Marks]] = []

    def read(self) -> list[PlacedAnnotation]:
        tables = read_marks_file(self._folder)
        self._marks = tuple(
            PlacedAnnotation(number, source, from_table(table))
            for number, (source, table) in enumerate(tables, start=1)
        )
        self._next = len(tables) + 1
        return list(self._marks)

    def add(self, trace_id: str, mark: Annotation) -> int:
        number = self._next
        placed = PlacedAnnotation(number, trace_id, mark)
        self._step(_named("add", mark), (*self._marks, placed))
        self._next += 1
        return number

    def change(self, number: int, mark: Annotation, label: str) -> None:
        changed = tuple(
            PlacedAnnotation(number, one.trace_id, mark) if one.number == number else one
            for one in self._marks
        )
        self._step(_named(label, mark), changed)

    def remove(self, number: int) -> None:
        self._step("delete", tuple(one for one in self._marks if one.number != number))

    def undo(self) -> str | None:
        return self._back(self._done, self._undone)

    def redo(self) -> str | None:
        return self._back(self._undone, self._done)

    def _step(self, label: str, marks: Marks) -> None:
        before = self._marks
        self._write(marks)
        self._done.append((label, before))
        self._undone.clear()

    def _back(self, steps: list[tuple[str, Marks]], other: list[tuple[str, Marks]]) -> str | None:
        if not steps:
            return None
        label, marks = steps[-1]
        now = self._marks
        self._write(marks)
        steps.pop()
        other.append((label, now))
        return f"Plot mark: {label}"

    def _write(self, marks: Marks) -> None:
        write_marks_file(self._folder, [(one.trace_id, as_table(one.mark)) for one in marks])
        self._marks = marks


def _named(step: str, mark: Annotation) -> str:
    return f"{step} {KINDS[mark.kind][0].lower()}"

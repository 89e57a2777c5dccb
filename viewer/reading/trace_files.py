"""Which files under some paths may hold traces, in natural order."""

import os
import re
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from pathlib import Path

TEXT_SUFFIXES = (".csv", ".tsv", ".dat", ".txt")

TABLE_SUFFIXES = (*TEXT_SUFFIXES, ".xlsx", ".xlsm", ".json", ".jsonl", ".parquet")
"""What traces are looked for in."""

_NOT_TRACES = re.compile(r"read[ _-]?me|licen[cs]e|notes?\b|changelog", re.IGNORECASE)


@dataclass(frozen=True)
class TraceFile:
    """A file, and how it is called: relative to the folder it was found in."""

    path: Path
    source: str


class NoFilesError(ValueError):
    """Paths that lead to no file to read; the message is one sentence."""


def natural_key(text: str) -> tuple[tuple[int, str], ...]:
    """Sorts S2 before S10."""
    parts = re.split(r"(\d+)", text.casefold())
    return tuple((int(part), "") if part.isdecimal() else (-1, part) for part in parts)


def files_under(folder: Path, closed: Callable[[OSError], object] | None = None) -> list[str]:
    """Paths of the folder's trace files relative to it, with forward slashes.

    closed: told of each folder that could not be looked into.
    """
    found = []
    for where, folders, files in os.walk(folder, onerror=closed):
        folders[:] = [name for name in folders if not name.startswith((".", "__"))]
        inside = Path(where).relative_to(folder).as_posix()
        prefix = "" if inside == "." else inside + "/"
        found += [prefix + name for name in files if may_hold_trace(name)]
    return sorted(found, key=natural_key)


def may_hold_trace(name: str) -> bool:
    """Whether a file of that name is worth reading: its ending, and not a README or a lock."""
    stem, suffix = os.path.splitext(name)
    if suffix.lower() not in TABLE_SUFFIXES or name.startswith((".", "~")):
        return False
    return suffix.lower() != ".txt" or not _NOT_TRACES.match(stem)


def is_text_file(name: str) -> bool:
    """Whether a file of that name is a table as text; a workbook or JSON may be anything."""
    return os.path.splitext(name)[1].lower() in TEXT_SUFFIXES


def trace_files(paths: Iterable[str | Path]) -> list[TraceFile]:
    """The files named, and those in the folders named.

    A file is called by its path in the one folder named, or with that folder's own name in
    front if several paths are named. Raises NoFilesError for a path that is not there, and if
    there is nothing to read at all.
    """
    given = [Path(path) for path in paths]
    found = [file for path in given for file in _files_at(path, alone=len(given) == 1)]
    if not found:
        names = ", ".join(map(str, given)) or "no path"
        raise NoFilesError(
            f"There are no files to read in {names} (looked for {', '.join(TABLE_SUFFIXES)})."
        )
    return _told_apart(found)


def _told_apart(files: list[TraceFile]) -> list[TraceFile]:
    """Files of one name in different folders are called by their whole path."""
    paths: dict[str, set[Path]] = {}
    for file in files:
        paths.setdefault(file.source, set()).add(file.path.resolve())
    unique = {file.path.resolve(): file for file in files}
    return [
        file if len(paths[file.source]) == 1 else TraceFile(file.path, path.as_posix())
        for path, file in unique.items()
    ]


def _files_at(path: Path, alone: bool) -> Iterator[TraceFile]:
    if path.is_dir():
        prefix = "" if alone else f"{path.resolve().name}/"
        for source in files_under(path):
            yield TraceFile(path / source, prefix + source)
    elif path.exists():
        folder = path.parent.name
        yield TraceFile(path, f"{folder}/{path.name}" if folder else path.name)
    else:
        raise NoFilesError(f"There is no file or folder {path}.")

"""Imported traces into a visit folder: nothing there is overwritten, nothing written twice."""

import hashlib
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from pathlib import Path

import tomli_w

from viewer.reading.plain.trace_writing import plain_text, write_traces
from viewer.reading.trace_files import TraceFile, files_under, may_hold_trace
from viewer.site_data.iv_trace import Trace
from viewer.site_data.site_layout import SiteLayout
from viewer.site_data.site_toml import FILE_NAME, site_toml_text
from viewer.site_data.whole_file import write_whole
from viewer.state.program.jobs import Progress

RECORD_NAME = "import_record.toml"
"""Beside site.toml: where each imported trace came from, added to with every import."""

TRACES_AT_ONCE = 50
"""Traces between two reports of progress."""


@dataclass
class ImportedVisit:
    """A folder that imported traces go to, and what has been written there by this import."""

    folder: Path
    written: dict[str, str] = field(default_factory=dict)
    """Source of each trace to its path in the folder."""
    marks: dict[str, str] = field(default_factory=dict)
    """Each path this import wrote to the SHA-256 of what it wrote."""
    already_there: int = 0
    newest: str | None = None
    """The path written last."""


def write_steps(
    visit: ImportedVisit, traces: Sequence[Trace], layout: SiteLayout | None
) -> Iterator[Progress]:
    """Writes what is not there yet, a piece at a time. Raises OSError.

    A trace that this import wrote before and that has changed since, because the recipe has,
    is replaced. layout: described in a site.toml if the folder has none.
    """
    visit.folder.mkdir(parents=True, exist_ok=True)
    visit.already_there = 0
    if layout is not None and not (visit.folder / FILE_NAME).exists():
        write_whole(visit.folder / FILE_NAME, site_toml_text(layout))
    present = _present(visit.folder)
    for start in range(0, len(traces), TRACES_AT_ONCE):
        some = traces[start : start + TRACES_AT_ONCE]
        written = [(one, path) for one in some if (path := _write(visit, one, present))]
        _record(visit.folder, written)
        yield Progress(start + len(some), len(traces), "writing")


def _record(folder: Path, written: Sequence[tuple[Trace, str]]) -> None:
    """Adds to the folder's record, for each trace written, from which bytes it came and how."""
    if not written:
        return
    entries: list[dict[str, object]] = [
        {
            "file": path,
            "read_from": trace.source,
            "sha256": trace.sha256 or "",
            "remarks": list(trace.remarks),
        }
        for trace, path in written
    ]
    with (folder / RECORD_NAME).open("a", encoding="utf-8") as record:
        record.writelines(f"[[trace]]\n{tomli_w.dumps(entry)}\n" for entry in entries)


def _write(visit: ImportedVisit, trace: Trace, present: dict[str, str]) -> str | None:
    """Writes the trace unless it is there; the path written."""
    mark = _mark(plain_text(trace).encode())
    if mark in present:
        visit.already_there += 1
        visit.written.setdefault(trace.source, present[mark])
        return None
    before = visit.written.get(trace.source)
    if before is not None and visit.marks.get(before) == _mark_of(visit.folder / before):
        (visit.folder / before).unlink()
    (path,) = write_traces([trace], visit.folder)
    visit.written[trace.source] = visit.newest = path
    visit.marks[path] = mark
    present[mark] = path
    return path


def _present(folder: Path) -> dict[str, str]:
    """SHA-256 of each trace file in the folder, to its path there."""
    return {_mark_of(folder / one): one for one in files_under(folder)}


def _mark_of(path: Path) -> str:
    try:
        return _mark(path.read_bytes())
    except OSError:
        return ""


def _mark(content: bytes) -> str:
    return hashlib.sha256(content).hexdigest()


def folder_problem(
    folder: Path, files: Sequence[TraceFile], watched: Path | None = None
) -> str | None:
    """Why imported traces should not go to that folder, in one sentence; None if they may.

    The files' paths are resolved.
    """
    place = folder.expanduser().resolve()
    if place.exists() and not place.is_dir():
        return f"{folder} is a file; choose a folder."
    for file in files:
        inside = file.path.is_relative_to(place)
        if inside and may_hold_trace(file.path.name):
            return (
                f"{folder} holds {file.source}, which was read: each trace would be there twice. "
                "Choose another folder."
            )
    if watched is not None:
        looked_at = watched.resolve()
        if place.is_relative_to(looked_at) or looked_at.is_relative_to(place):
            return f"{folder} and the watched folder lie in each other; choose another folder."
    return None

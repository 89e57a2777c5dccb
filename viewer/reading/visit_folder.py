"""A visit folder: site.toml beside any number of trace files in subfolders.

A folder without a site.toml is still readable: its traces are shown and get key points; only
what needs a datasheet is missing. So is one whose site.toml is wrong.
"""

import hashlib
import os
import re
from dataclasses import dataclass
from pathlib import Path

from viewer.reading.plain_format import UnreadableFileError, read_plain
from viewer.reading.trace_keys import TraceKeys, read_keys, time_in_name
from viewer.site_data.iv_trace import Trace, Unreadable
from viewer.site_data.site_layout import SiteLayout
from viewer.site_data.site_toml import FILE_NAME, read_site_toml

TRACE_SUFFIXES = (".csv", ".tsv", ".dat", ".txt")
SIZE_LIMIT = 64_000_000
"""Bytes of one trace file; a sweep of 200 points has about 5,000."""
_NOT_TRACES = re.compile(r"read[ _-]?me|licen[cs]e|notes?\b|changelog", re.IGNORECASE)


class FolderError(ValueError):
    """A folder that cannot be opened as a visit; the message is one sentence."""


@dataclass(frozen=True)
class VisitFolder:
    """An opened folder: its layout, and its trace files in natural order of their paths."""

    path: Path
    layout: SiteLayout
    sources: tuple[str, ...]
    """Paths relative to the folder, with forward slashes."""
    problems: tuple[str, ...] = ()
    """What must be mended in site.toml, or that there is none: one sentence each."""
    remarks: tuple[str, ...] = ()
    """What was assumed about the site, one sentence each."""


def open_visit_folder(path: str | Path) -> VisitFolder:
    """Lists the folder's traces and reads its site.toml. Raises FolderError."""
    folder = Path(path)
    if not folder.exists():
        raise FolderError(f"There is no folder {path}.")
    if not folder.is_dir():
        raise FolderError(f"{path} is a file, not a visit folder; name the folder around it.")
    sources = tuple(_trace_files(folder))
    site_toml = folder / FILE_NAME
    if not sources:
        raise FolderError(
            f"{path} holds no trace files ({', '.join(TRACE_SUFFIXES)}), "
            "neither itself nor in its subfolders."
        )
    if not site_toml.is_file():
        name = folder.resolve().name
        return VisitFolder(
            folder, SiteLayout(name, {}, ()), sources, (_no_site_toml(folder, sources),)
        )
    site = read_site_toml(site_toml)
    return VisitFolder(folder, site.layout, sources, site.problems, site.remarks)


def read_trace(folder: VisitFolder, source: str) -> Trace | Unreadable:
    """The trace in that file of the folder, or why there is none. Never raises."""
    try:
        data = _bytes_of(folder.path / source, source)
        plain = read_plain(_decoded(data, source), source)
    except UnreadableFileError as error:
        return Unreadable(source, str(error))
    keys = read_keys(plain.keys)
    combiner, string = _names(folder.layout, source, keys)
    remarks = plain.remarks + keys.remarks
    measured_at = keys.measured_at
    if measured_at is None and (measured_at := time_in_name(source.rpartition("/")[2])):
        remarks += ("The time was taken from the file name.",)
    return Trace(
        source=source,
        voltage=plain.voltage,
        current=plain.current,
        combiner=combiner,
        string=string,
        measured_at=measured_at,
        conditions=keys.conditions,
        serial=keys.serial,
        note=keys.note,
        sha256=hashlib.sha256(data).hexdigest(),
        remarks=remarks,
    )


def natural_key(text: str) -> tuple[tuple[int, str], ...]:
    """Sorts S2 before S10."""
    parts = re.split(r"(\d+)", text.casefold())
    return tuple((int(part), "") if part.isdecimal() else (-1, part) for part in parts)


def _no_site_toml(folder: Path, sources: tuple[str, ...]) -> str:
    near = next((one for one in sources if one.endswith("/site.toml")), None)
    hint = f" ({near} is not used)" if near else ""
    return (
        f"{folder} has no {FILE_NAME}{hint}: traces are shown with their key points, but nothing "
        f"is predicted; add a {FILE_NAME} with the modules and strings."
    )


def _trace_files(folder: Path) -> list[str]:
    found = []
    for where, folders, files in os.walk(folder):
        folders[:] = [name for name in folders if not name.startswith((".", "__"))]
        inside = Path(where).relative_to(folder).as_posix()
        prefix = "" if inside == "." else inside + "/"
        found += [prefix + name for name in files if _is_trace_file(name)]
    return sorted(found, key=natural_key)


def _is_trace_file(name: str) -> bool:
    stem, suffix = os.path.splitext(name)
    if suffix.lower() not in TRACE_SUFFIXES or name.startswith((".", "~")):
        return False
    return suffix.lower() == ".csv" or not _NOT_TRACES.match(stem)


def _bytes_of(path: Path, source: str) -> bytes:
    try:
        size = path.stat().st_size
        if size > SIZE_LIMIT:
            raise UnreadableFileError(
                f"{source} has {size:,} bytes; more than {SIZE_LIMIT:,} are refused, "
                "so split it into smaller files."
            )
        return path.read_bytes()
    except OSError as error:
        raise UnreadableFileError(f"{source} cannot be read: {error.strerror}.") from error


def _decoded(data: bytes, source: str) -> str:
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = data[: error.start].count(b"\n") + 1
        raise UnreadableFileError(
            f"{source}, line {line}: not UTF-8 text; save the file as UTF-8."
        ) from error
    return text.replace("\r\n", "\n").replace("\r", "\n") if "\r" in text else text


def _names(layout: SiteLayout, source: str, keys: TraceKeys) -> tuple[str | None, str | None]:
    """Combiner and string: from the key lines, else from folder and file name."""
    *folders, file = source.split("/")
    stem = file.rpartition(".")[0]
    known = {box.name for box in layout.combiners}
    named = next((part for part in reversed(folders) if part in known), None)
    nearest = folders[-1] if folders else None
    return keys.combiner or named or nearest, keys.string or stem

"""A visit folder: site.toml beside any number of trace files in subfolders.

Trace files in another layout than the plain one are read as tables, by the folder's recipe.toml
if there is one.

A folder without a site.toml is still readable: its traces are shown and get key points; only
what needs a datasheet is missing. So is one whose site.toml is wrong.
"""

import hashlib
import os
import re
from dataclasses import dataclass, replace
from pathlib import Path

from viewer.reading.file_reading import read_data
from viewer.reading.file_text import decode_plain, read_bytes
from viewer.reading.limits import UnreadableFileError
from viewer.reading.plain_format import PlainFile, read_plain
from viewer.reading.recipe import Recipe, RecipeError
from viewer.reading.recipe_file import load_recipe
from viewer.reading.trace_keys import TIME_FROM_NAME, read_keys, time_in_name
from viewer.site_data.iv_trace import Trace, Unreadable
from viewer.site_data.site_layout import SiteLayout
from viewer.site_data.site_toml import FILE_NAME, read_site_toml

TRACE_SUFFIXES = (".csv", ".tsv", ".dat", ".txt")
RECIPE_NAME = "recipe.toml"
"""A reading recipe beside site.toml is used for files that are not in the plain format."""

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
    recipe: Recipe | None = None


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
    recipe, problems = _recipe(folder)
    if not site_toml.is_file():
        layout = SiteLayout(folder.resolve().name, {}, ())
        problems = (_no_site_toml(folder, sources), *problems)
        return VisitFolder(folder, layout, sources, problems, (), recipe)
    site = read_site_toml(site_toml)
    problems = site.problems + problems
    return VisitFolder(folder, site.layout, sources, problems, site.remarks, recipe)


def _recipe(folder: Path) -> tuple[Recipe | None, tuple[str, ...]]:
    if not (folder / RECIPE_NAME).is_file():
        return None, ()
    try:
        return load_recipe(folder / RECIPE_NAME), ()
    except RecipeError as error:
        return None, tuple(str(error).split("\n"))


def read_source(folder: VisitFolder, source: str) -> tuple[Trace | Unreadable, ...]:
    """The traces in that file of the folder, or why there is none. Never raises.

    A file of several traces gives each a source of its own, the path and "#" and a name.
    """
    try:
        data = read_bytes(folder.path / source, source)
        text = decode_plain(data)
        plain = read_plain(text, source) if text is not None else None
    except UnreadableFileError as error:
        return (Unreadable(source, str(error)),)
    if plain is not None:
        return (_plain_trace(folder.layout, source, plain, data),)
    reading = read_data(data, source, folder.recipe)
    traces = tuple(_with_path_names(folder.layout, source, trace) for trace in reading.traces)
    return traces + reading.failures


def _plain_trace(layout: SiteLayout, source: str, plain: PlainFile, data: bytes) -> Trace:
    keys = read_keys(plain.keys)
    remarks = plain.remarks + keys.remarks
    measured_at = keys.measured_at
    if measured_at is None and (measured_at := time_in_name(source.rpartition("/")[2])):
        remarks += (TIME_FROM_NAME,)
    combiner, string = path_names(layout, source)
    return Trace(
        source=source,
        voltage=plain.voltage,
        current=plain.current,
        combiner=keys.combiner or combiner,
        string=keys.string or string,
        measured_at=measured_at,
        conditions=keys.conditions,
        serial=keys.serial,
        note=keys.note,
        sha256=hashlib.sha256(data).hexdigest(),
        remarks=remarks,
    )


def _with_path_names(layout: SiteLayout, source: str, trace: Trace) -> Trace:
    combiner, string = path_names(layout, source)
    if trace.source != source:  # one of several in the file, whose name names none of them
        string = trace.source.rpartition("#")[2]
    return replace(trace, combiner=trace.combiner or combiner, string=trace.string or string)


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


def path_names(layout: SiteLayout, source: str) -> tuple[str | None, str]:
    """Combiner and string from folder and file name, where the file itself does not say.

    The combiner is the nearest folder that the layout knows as one, else the nearest folder.
    """
    *folders, file = source.split("/")
    known = {box.name for box in layout.combiners}
    named = next((part for part in reversed(folders) if part in known), None)
    nearest = folders[-1] if folders else None
    return named or nearest, file.rpartition(".")[0] or file

"""A visit folder: site.toml beside any number of trace files in subfolders.

Trace files in another layout than the plain one are read as tables, by the folder's recipe.toml
if there is one.

A folder without a site.toml is still readable: its traces are shown and get key points; only
what needs a datasheet is missing. So is one whose site.toml is wrong.
"""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path

from viewer.physics.nomenclature import counted
from viewer.reading.file_reading import read_file
from viewer.reading.recipes.recipe import Recipe, RecipeError
from viewer.reading.recipes.recipe_file import load_recipe
from viewer.reading.trace_files import TABLE_SUFFIXES, files_under, is_text_file
from viewer.reading.visits.named_module import with_module_remark
from viewer.reading.visits.names_from_path import with_path_names
from viewer.reading.visits.own_exports import column_list, is_column_list, without_copies
from viewer.site_data.iv_trace import NotATrace, Trace, Unreadable
from viewer.site_data.site_layout import SiteLayout
from viewer.site_data.site_toml import FILE_NAME, read_site_toml

RECIPE_NAME = "recipe.toml"
"""A reading recipe beside site.toml is used for files that are not in the plain format."""


TOLD_OF = 3
"""Files without a sweep of which each gets a sentence of its own."""


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


def open_visit_folder(
    path: str | Path, listed: Callable[[int], object] = lambda _: None
) -> VisitFolder:
    """Lists the folder's traces and reads its site.toml. Raises FolderError.

    listed: told the number of files before site.toml, which takes longest, is read.
    """
    folder = Path(path)
    if not folder.exists():
        raise FolderError(f"There is no folder {path}.")
    if not folder.is_dir():
        raise FolderError(f"{path} is a file, not a visit folder; name the folder around it.")
    closed: list[OSError] = []
    sources = tuple(files_under(folder, closed.append))
    site_toml = folder / FILE_NAME
    if not sources and closed:
        raise FolderError(f"{_closed(closed[0])}.")
    if not sources:
        raise FolderError(
            f"{path} holds no trace files ({', '.join(TABLE_SUFFIXES)}), "
            "neither itself nor in its subfolders."
        )
    listed(len(sources))
    recipe, problems = _recipe(folder)
    problems += tuple(f"{_closed(one)}: what lies in it is left out." for one in closed)
    if not site_toml.is_file():
        layout = SiteLayout(folder.resolve().name, {}, ())
        problems = (_no_site_toml(folder, sources), *problems)
        return VisitFolder(folder, layout, sources, problems, (), recipe)
    site = read_site_toml(site_toml)
    problems = site.problems + problems
    return VisitFolder(folder, site.layout, sources, problems, site.remarks, recipe)


def _closed(error: OSError) -> str:
    return f"The folder {error.filename} cannot be read: {error.strerror}"


def _recipe(folder: Path) -> tuple[Recipe | None, tuple[str, ...]]:
    if not (folder / RECIPE_NAME).is_file():
        return None, ()
    try:
        return load_recipe(folder / RECIPE_NAME), ()
    except RecipeError as error:
        return None, tuple(str(error).split("\n"))


def read_source(folder: VisitFolder, source: str) -> tuple[Trace | Unreadable, ...]:
    """The traces in that file of the folder, or why there is none. Never raises.

    A file of several traces gives each a source of its own, the path and "#" and a name. A
    workbook or JSON file in which nothing looks like a sweep is NotATrace: such files may lie
    in a visit folder for other reasons. So is a table of points exported from the folder's traces.
    """
    reading = read_file(folder.path / source, source, folder.recipe, plain_first=True)
    if is_column_list(source, reading):
        return (column_list(source),)
    found = without_copies(reading, folder.path, folder.sources)
    traces = tuple(
        one if isinstance(one, NotATrace) else _placed(one, folder.layout) for one in found
    )
    if reading.no_sweep and not is_text_file(source):
        return tuple(NotATrace(one.source, one.problem) for one in reading.failures)
    return traces + reading.failures


def _placed(trace: Trace, layout: SiteLayout) -> Trace:
    return with_module_remark(with_path_names(trace, layout), layout)


def failures(found: Iterable[object]) -> tuple[Unreadable, ...]:
    """The files that should have given a trace and did not."""
    return tuple(
        one for one in found if isinstance(one, Unreadable) and not isinstance(one, NotATrace)
    )


def left_out(others: Sequence[NotATrace]) -> tuple[str, ...]:
    """One sentence for each of the first files that were taken for something else."""
    said = tuple(f"Left out: {one.problem}" for one in others[:TOLD_OF])
    more = len(others) - TOLD_OF
    if more <= 0:
        return said
    return (*said, f"Left out: {counted(more, 'more file')} in which nothing looks like a sweep.")


def nothing_but(path: Path, others: Sequence[NotATrace]) -> str:
    """Why a folder without any trace cannot be opened."""
    return f"{path} holds no trace file: {others[0].problem}"


def _no_site_toml(folder: Path, sources: tuple[str, ...]) -> str:
    folders = dict.fromkeys(source.partition("/")[0] for source in sources if "/" in source)
    near = next((name for name in folders if (folder / name / FILE_NAME).is_file()), None)
    hint = f" (the one in {near} is not used)" if near else ""
    return (
        f"{folder} has no {FILE_NAME}{hint}: traces are shown with their key points, but nothing "
        f"is predicted; add a {FILE_NAME} with the modules and strings."
    )

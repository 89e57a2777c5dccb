"""What lies at a path, a visit folder or a site file, opened to the same shape."""

from collections.abc import Callable
from dataclasses import dataclass
from functools import partial
from pathlib import Path

from viewer.reading.visits.visit_folder import open_visit_folder, read_source
from viewer.site_data.iv_trace import Trace, Unreadable
from viewer.site_data.site_file.annotations import Repair
from viewer.site_data.site_file.connection import looks_like_site_file
from viewer.site_data.site_file.stored_visits import read_stored_visits
from viewer.site_data.site_layout import SiteLayout

Read = Callable[[str], tuple[Trace | Unreadable, ...]]


@dataclass(frozen=True)
class OpenedSource:
    """A layout, the names of its sources, and how to read one of them (which never raises).

    A source gives one trace, or several if it is a file that holds several.
    """

    layout: SiteLayout
    sources: tuple[str, ...]
    read: Read
    problems: tuple[str, ...] = ()
    remarks: tuple[str, ...] = ()
    repairs: tuple[Repair, ...] = ()
    """What a site file says was mended; a folder says nothing of it."""
    readable_elsewhere: bool = False
    """Whether `read` may be handed to another process."""


def open_source(path: str | Path, listed: Callable[[int], object] = lambda _: None) -> OpenedSource:
    """Opens a visit folder or a site file.

    listed: told the number of a folder's files before its site.toml is read.
    Raises FolderError or SiteFileError (both ValueErrors) with one sentence.
    """
    if Path(path).is_file() and looks_like_site_file(Path(path)):
        stored = read_stored_visits(Path(path))
        return OpenedSource(
            stored.layout,
            tuple(stored.contents),
            lambda source: (stored.contents[source],),
            repairs=stored.repairs,
        )
    folder = open_visit_folder(path, listed)
    return OpenedSource(
        folder.layout,
        folder.sources,
        partial(read_source, folder),
        folder.problems,
        folder.remarks,
        readable_elsewhere=True,
    )

"""Undo and redo of a site file's steps, with the sentence that both faces of the program say."""

from collections.abc import Callable

from viewer.site_data.site_file.connection import SiteFile
from viewer.site_data.site_file.journal import redo, undo
from viewer.site_data.site_file.layout_rows import read_layout


def take_back(site_file: SiteFile) -> str:
    """Take back the last step. Raises SiteFileError."""
    return _turn(site_file, undo, "There is nothing to take back.", "Taken back")


def do_again(site_file: SiteFile) -> str:
    """Do again what was taken back last. Raises SiteFileError."""
    return _turn(site_file, redo, "There is nothing to do again.", "Done again")


def _turn(
    site_file: SiteFile, step: Callable[[SiteFile], str | None], nothing: str, done: str
) -> str:
    before = read_layout(site_file)
    label = step(site_file)
    if label is None:
        return nothing
    if read_layout(site_file) == before:
        return f"{done}: {label}."
    when = "before it" if step is undo else "after it"
    return f"{done}: {label}. The layout is again as it was {when}."

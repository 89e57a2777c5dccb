"""The description of a site without its traces: what is needed before a visit."""

from pathlib import Path

from viewer.site_data.site_file.connection import looks_like_site_file, open_site_file
from viewer.site_data.site_file.errors import SiteFileError
from viewer.site_data.site_file.layout_rows import read_layout
from viewer.site_data.site_layout import SiteLayout
from viewer.site_data.site_toml import FILE_NAME, read_site_toml


class LayoutError(ValueError):
    """No site description at a path; the message is one sentence."""


def open_layout(path: str | Path) -> tuple[SiteLayout, tuple[str, ...]]:
    """The layout at a folder with a site.toml, at such a file or in a site file, and what is wrong.

    Raises LayoutError when there is none, nothing in it can be used, or a site file cannot be
    opened.
    """
    place = Path(path)
    if place.is_file() and looks_like_site_file(place):
        try:
            with open_site_file(place) as site_file:
                return read_layout(site_file), ()
        except SiteFileError as error:
            raise LayoutError(str(error)) from error
    if not place.exists():
        raise LayoutError(f"There is no folder {path}.")
    file = place / FILE_NAME if place.is_dir() else place
    if not file.is_file():
        raise LayoutError(f"There is no {FILE_NAME} in {path}: it must list modules and strings.")
    site = read_site_toml(file)
    if not site.layout.combiners:
        said = " ".join(site.problems) or "it lists no combiners."
        raise LayoutError(f"{file} gives no strings: {said}")
    return site.layout, site.problems

"""What people enter for a report, kept with the site: in the site file or as report.toml."""

from dataclasses import asdict
from pathlib import Path
from typing import Any

import tomli_w

from viewer.site_data.report_details_file import (
    EnteredDetails,
    details_from_table,
    read_details,
)
from viewer.site_data.site_file.annotations import read_settings, write_settings
from viewer.site_data.site_file.connection import (
    SiteFile,
    looks_like_site_file,
    open_site_file,
)
from viewer.site_data.site_file.journal import one_step
from viewer.site_data.whole_file import write_whole

LABEL = "Report entries"
"""The step in words, for undo."""
FILE_NAME = "report.toml"
"""Beside the site.toml of a visit folder."""
SETTING = "report"
"""Name of the setting in a site file; its value is the table of the details file."""


def stored_details(path: Path) -> EnteredDetails:
    """What is kept with the site at a path; nothing where nothing is. Raises ValueError."""
    if path.is_file() and looks_like_site_file(path):
        with open_site_file(path) as site_file:
            return details_in(site_file)
    file = path / FILE_NAME
    return read_details(file) if file.is_file() else EnteredDetails({}, ())


def details_in(site_file: SiteFile) -> EnteredDetails:
    """Those of an open site file. Raises ValueError."""
    table = read_settings(site_file).get(SETTING, {})
    return details_from_table(table, site_file.path.name, site_file.path.parent)


def store_details(path: Path, details: EnteredDetails) -> None:
    """Keep them with the site at a path. Raises ValueError and OSError."""
    if path.is_file() and looks_like_site_file(path):
        with open_site_file(path) as site_file:
            store_details_in(site_file, details)
        return
    folder = path if path.is_dir() else path.parent
    write_whole(path / FILE_NAME, tomli_w.dumps(details_table(details, folder)))


def store_details_in(site_file: SiteFile, details: EnteredDetails) -> None:
    """Keep them in an open site file, as one step. Raises ValueError."""
    table = details_table(details, site_file.path.parent)
    if read_settings(site_file).get(SETTING) != table:
        with one_step(site_file, LABEL):
            write_settings(site_file, {SETTING: table})


def details_table(details: EnteredDetails, folder: Path) -> dict[str, Any]:
    """The details as the table of their file, the logo's path relative where it lies below."""
    table: dict[str, Any] = {}
    for key, value in details.values.items():
        if key == "logo" and value:
            logo = Path(value)
            inside = logo.is_relative_to(folder)
            table[key] = str(logo.relative_to(folder) if inside else logo)
        else:
            table[key] = list(value) if isinstance(value, tuple) else value
    if details.repairs:
        table["repair"] = [asdict(one) for one in details.repairs]
    return table

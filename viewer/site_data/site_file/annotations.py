"""Findings, repairs, notes, module serials and settings: each change can be undone."""

import json
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any

from viewer.physics.nomenclature import counted
from viewer.site_data.site_file.connection import SiteFile
from viewer.site_data.site_file.errors import SiteFileError
from viewer.site_data.site_file.journal import add_row, change_row
from viewer.site_data.site_file.record_columns import utc_now


@dataclass(frozen=True)
class About:
    """What a note, picture or finding belongs to, by ids; all None: the whole site."""

    string_id: int | None = None
    visit_id: int | None = None
    trace_id: int | None = None
    finding_id: int | None = None

    def columns(self, *allowed: str) -> dict[str, int | None]:
        return {name: getattr(self, name) for name in allowed}


@dataclass(frozen=True)
class Repair:
    """What was mended on one string, and when."""

    combiner: str
    string: str
    repaired_on: date
    text: str


def string_id(site_file: SiteFile, combiner: str, string: str) -> int:
    """The id of a string by its names. Raises SiteFileError when there is none."""
    found = known_string_id(site_file, combiner, string)
    if found is None:
        raise SiteFileError(
            f"{site_file.path.name}: it has no string {combiner} / {string}; check both names."
        )
    return found


def known_string_id(site_file: SiteFile, combiner: str, string: str) -> int | None:
    """The id of a string by its names; None when the layout has no such string."""
    with site_file.reading() as connection:
        row = connection.execute(
            "SELECT strings.id FROM current_strings AS strings "
            "JOIN combiners ON combiners.id = combiner_id "
            "WHERE combiners.name = ? AND strings.name = ?",
            (combiner, string),
        ).fetchone()
    return None if row is None else int(row[0])


def add_note(site_file: SiteFile, about: About, text: str, author: str | None = None) -> int:
    values = about.columns("string_id", "visit_id", "trace_id")
    more = {"text": text, "author": author, "created_at": utc_now()}
    return add_row(site_file, "Note", "notes", values | more)


def add_finding(
    site_file: SiteFile,
    about: About,
    text: str,
    cause: str | None = None,
    author: str | None = None,
) -> int:
    values = about.columns("string_id", "trace_id")
    more = {"cause": cause, "text": text, "author": author, "created_at": utc_now()}
    return add_row(site_file, "Finding", "findings", values | more)


def _check_finding(site_file: SiteFile, number: int) -> None:
    """Raises SiteFileError when there is no such finding."""
    with site_file.reading() as connection:
        row = connection.execute("SELECT 1 FROM findings WHERE id = ?", (number,)).fetchone()
    if row is None:
        raise SiteFileError(f"{site_file.path.name}: it has no finding {number}.")


def close_finding(site_file: SiteFile, number: int) -> None:
    _check_finding(site_file, number)
    change_row(
        site_file,
        "Close finding",
        "findings",
        number,
        {"status": "closed", "closed_at": utc_now()},
    )


def add_repair(
    site_file: SiteFile,
    repair: Repair,
    finding_id: int | None = None,
    author: str | None = None,
) -> int:
    if finding_id is not None:
        _check_finding(site_file, finding_id)
    values: dict[str, Any] = {
        "string_id": string_id(site_file, repair.combiner, repair.string),
        "finding_id": finding_id,
        "repaired_on": repair.repaired_on.isoformat(),
        "text": repair.text,
        "author": author,
        "created_at": utc_now(),
    }
    return add_row(site_file, "Repair", "repairs", values)


def read_repairs(site_file: SiteFile) -> list[Repair]:
    """All repairs, by date."""
    with site_file.reading() as connection:
        rows = connection.execute(
            "SELECT combiners.name, strings.name, repaired_on, text FROM repairs "
            "JOIN strings ON strings.id = string_id JOIN combiners ON combiners.id = combiner_id "
            "ORDER BY repaired_on, repairs.id"
        ).fetchall()
    return [Repair(box, name, date.fromisoformat(day), text) for box, name, day, text in rows]


def add_module(site_file: SiteFile, serial: str, combiner: str, string: str, position: int) -> int:
    """Say which module sits where, `position` counted from the string's positive end.

    Raises SiteFileError when the string has no such position.
    """
    number = string_id(site_file, combiner, string)
    with site_file.reading() as connection:
        kind, count = connection.execute(
            "SELECT module_type_id, modules_in_series * strings_in_parallel "
            "FROM strings WHERE id = ?",
            (number,),
        ).fetchone()
    if not 1 <= position <= count:
        raise SiteFileError(
            f"{site_file.path.name}: {combiner} / {string} has no position {position}; "
            f"it has {counted(count, 'module')}, counted from 1."
        )
    values = {
        "serial": serial,
        "module_type_id": kind,
        "string_id": number,
        "position": position,
    }
    return add_row(site_file, f"Module {serial}", "modules", values)


def read_settings(site_file: SiteFile) -> dict[str, Any]:
    """The settings kept with this site."""
    with site_file.reading() as connection:
        rows = connection.execute("SELECT name, value FROM settings")
        return {name: json.loads(value) for name, value in rows}


def write_settings(site_file: SiteFile, settings: Mapping[str, Any]) -> None:
    """Store settings that differ from what is kept; each is one step of undo."""
    with site_file.reading() as connection:
        known = dict(connection.execute("SELECT name, id FROM settings").fetchall())
    for name, value in settings.items():
        label, text = f"Setting {name}", json.dumps(value)
        if name in known:
            change_row(site_file, label, "settings", known[name], {"value": text})
        else:
            add_row(site_file, label, "settings", {"name": name, "value": text})

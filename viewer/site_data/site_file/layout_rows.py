"""The site's layout in the site file: site, module types, combiners and strings."""

import json
import sqlite3
from collections.abc import Mapping, Sequence
from datetime import date
from typing import Any

from viewer.site_data.datasheet import Datasheet
from viewer.site_data.site_file.connection import SiteFile
from viewer.site_data.site_file.errors import SiteFileError
from viewer.site_data.site_file.record_columns import insert, join_record, split_record
from viewer.site_data.site_layout import Combiner, Location, Mounting, SiteLayout, StringLayout
from viewer.site_data.warranty_terms import WarrantyTerms

_DATASHEET = [
    "key",
    "technology",
    "i_sc",
    "v_oc",
    "i_mp",
    "v_mp",
    "alpha_sc",
    "beta_voc",
    "gamma_pmp",
    "cells_in_series",
    "parallel_paths",
    "bypass_diodes",
    "bifaciality",
    "library",
]
_WARRANTY = [
    "warranty_first_year",
    "warranty_annual",
    "warranty_years",
    "warranty_steps",
    "warranty_start",
    "warranty_rated_power",
]
_LOCATION = ["latitude", "longitude", "altitude", "timezone"]
_MOUNTING = ["tilt", "azimuth", "tracking", "max_angle", "ground_coverage_ratio"]
_STRING = ["name", "modules_in_series", "strings_in_parallel"]


def site_name(connection: sqlite3.Connection) -> str | None:
    """The site's name, or None in a new file."""
    row = connection.execute("SELECT name FROM sites").fetchone()
    return None if row is None else str(row[0])


def read_layout(site_file: SiteFile) -> SiteLayout:
    """The layout as it stands. Raises SiteFileError for a file without a site."""
    with site_file.reading() as connection:
        columns = ", ".join([*_LOCATION, *_MOUNTING, "name", "more"])
        row = connection.execute(f"SELECT {columns} FROM sites").fetchone()
        if row is None:
            raise SiteFileError(
                f"{site_file.path.name}: it holds no site yet; import a visit folder first."
            )
        place = dict(zip(_LOCATION, row, strict=False))
        mounting = dict(zip(_MOUNTING, row[len(_LOCATION) :], strict=False))
        name, more = row[-2:]
        return SiteLayout(
            name=name,
            modules=_read_modules(connection),
            combiners=_read_combiners(connection),
            location=None if place["latitude"] is None else Location(**place),
            mounting=_mounting(mounting),
            **join_record([], [more]),
        )


def _mounting(values: dict[str, Any]) -> Mounting | None:
    if values["tilt"] is None:
        return None
    return Mounting(**values | {"tracking": bool(values["tracking"])})


def _read_modules(connection: sqlite3.Connection) -> dict[str, Datasheet]:
    columns = ", ".join([*_WARRANTY, *_DATASHEET, "more"])
    sheets = [
        Datasheet(
            **join_record(_DATASHEET, row[len(_WARRANTY) :]),
            warranty=_warranty(row[: len(_WARRANTY)]),
        )
        for row in connection.execute(f"SELECT {columns} FROM module_types ORDER BY id")
    ]
    return {sheet.key: sheet for sheet in sheets}


def _warranty(row: Sequence[Any]) -> WarrantyTerms | None:
    first_year, annual, years, steps, start, rated_power = row
    if years is None:
        return None
    return WarrantyTerms(
        first_year,
        annual,
        years,
        tuple((age, share) for age, share in json.loads(steps)),
        None if start is None else date.fromisoformat(start),
        rated_power,
    )


def _warranty_values(terms: WarrantyTerms | None) -> dict[str, Any]:
    if terms is None:
        return dict.fromkeys(_WARRANTY)
    start = None if terms.start is None else terms.start.isoformat()
    steps = json.dumps(terms.steps)
    values = [terms.first_year, terms.annual, terms.years, steps, start, terms.rated_power]
    return dict(zip(_WARRANTY, values, strict=True))


def _read_combiners(connection: sqlite3.Connection) -> tuple[Combiner, ...]:
    strings: dict[int, list[StringLayout]] = {}
    columns = ", ".join(f"strings.{name}" for name in _STRING)
    for box, module, *row in connection.execute(
        f"SELECT combiner_id, module_types.key, {columns}, strings.more FROM strings "
        "JOIN module_types ON module_types.id = module_type_id ORDER BY combiner_id, position"
    ):
        string = StringLayout(module=module, **join_record(_STRING, row))
        strings.setdefault(box, []).append(string)
    return tuple(
        Combiner(name=name, strings=tuple(strings.get(box, ())), **join_record([], [more]))
        for box, name, more in connection.execute(
            "SELECT id, name, more FROM combiners ORDER BY position"
        )
    )


def merge_layout(connection: sqlite3.Connection, layout: SiteLayout) -> list[str]:
    """Bring the layout into the file: new parts are added, changed ones changed, none removed.

    Returns one sentence for each part that the file knew otherwise.
    """
    changed: list[str] = []
    site = _merge(connection, "sites", {}, _site_values(layout), changed, "the site")
    types = {
        key: _merge(
            connection,
            "module_types",
            {"site_id": site, "key": key},
            _columns(sheet, _DATASHEET, ["warranty"]) | _warranty_values(sheet.warranty),
            changed,
            f"module {key}",
        )
        for key, sheet in layout.modules.items()
    }
    for place, box in enumerate(layout.combiners):
        where = {"site_id": site, "name": box.name}
        more = {"more": split_record(box, ["name"], ["strings"])[-1]}
        box_id = _merge(connection, "combiners", where, more, changed, box.name, position=place)
        for order, string in enumerate(box.strings):
            values = _columns(string, _STRING, ["module"])
            _merge(
                connection,
                "strings",
                {"combiner_id": box_id, "name": string.name},
                values | {"module_type_id": types[string.module]},
                changed,
                f"string {box.name} / {string.name}",
                position=order,
            )
    return changed


def _site_values(layout: SiteLayout) -> dict[str, Any]:
    place = layout.location
    where = {name: getattr(place, name) if place else None for name in _LOCATION}
    mounting = layout.mounting
    held = {name: getattr(mounting, name) if mounting else None for name in _MOUNTING}
    others = ["modules", "combiners", "location", "mounting"]
    more = split_record(layout, ["name"], others)[-1]
    return {"name": layout.name, **where, **held, "more": more}


def _columns(record: Any, columns: list[str], left_out: list[str] | None = None) -> dict[str, Any]:
    values = split_record(record, columns, left_out or [])
    return dict(zip([*columns, "more"], values, strict=True))


def _merge(
    connection: sqlite3.Connection,
    table: str,
    where: Mapping[str, Any],
    values: Mapping[str, Any],
    changed: list[str],
    what: str,
    position: int | None = None,
) -> int:
    """Insert or update one row found by the columns of `where`; its id."""
    names = list(values)
    condition = " AND ".join(f"{name} = ?" for name in where) or "1"
    row = connection.execute(
        f"SELECT id, {', '.join(names)} FROM {table} WHERE {condition}", tuple(where.values())
    ).fetchone()
    if row is None:
        return insert(
            connection, table, {**where, **values, **_placed(connection, table, where, position)}
        )
    for name, old in zip(names, row[1:], strict=True):
        if old != values[name]:
            connection.execute(
                f"UPDATE {table} SET {name} = ? WHERE id = ?", (values[name], row[0])
            )
            changed.append(f"{what}: {name} changed from {old} to {values[name]}")
    return int(row[0])


def _placed(
    connection: sqlite3.Connection, table: str, where: Mapping[str, Any], position: int | None
) -> dict[str, int]:
    """The row's place: as given in a new table, after all its neighbours where some are there."""
    if position is None:
        return {}
    around = {name: value for name, value in where.items() if name != "name"}
    condition = " AND ".join(f"{name} = ?" for name in around) or "1"
    last = connection.execute(
        f"SELECT max(position) FROM {table} WHERE {condition}", tuple(around.values())
    ).fetchone()[0]
    return {"position": position if last is None else max(last + 1, position)}

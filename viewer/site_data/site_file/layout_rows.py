"""The site's layout in the site file: site, module types, combiners and strings."""

import json
import sqlite3
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from typing import Any

from viewer.site_data.datasheet import Datasheet
from viewer.site_data.site_file.connection import SiteFile
from viewer.site_data.site_file.errors import SiteFileError
from viewer.site_data.site_file.journal import RowChange
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
        for row in connection.execute(f"SELECT {columns} FROM current_module_types ORDER BY id")
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
        f"SELECT combiner_id, module_types.key, {columns}, strings.more "
        "FROM current_strings AS strings JOIN module_types ON module_types.id = module_type_id "
        "ORDER BY combiner_id, position"
    ):
        string = StringLayout(module=module, **join_record(_STRING, row))
        strings.setdefault(box, []).append(string)
    return tuple(
        Combiner(name=name, strings=tuple(strings.get(box, ())), **join_record([], [more]))
        for box, name, more in connection.execute(
            "SELECT id, name, more FROM current_combiners ORDER BY position"
        )
    )


@dataclass
class LayoutMerge:
    """What a merge did: a sentence for each part that the file knew otherwise, the same for the
    journal, and how many parts are new. New parts go and come with the import that brought them.
    """

    said: list[str] = field(default_factory=list)
    changes: list[RowChange] = field(default_factory=list)
    added: int = 0

    @property
    def is_new(self) -> bool:
        return bool(self.changes) or self.added > 0


def merge_layout(
    connection: sqlite3.Connection, layout: SiteLayout, import_id: int | None = None
) -> LayoutMerge:
    """Bring the layout into the file: new parts are added, changed ones changed, none removed.

    import_id: of the import that brings it; parts of none are always shown.
    """
    merge = _Merge(connection, import_id)
    site = merge.site(_site_values(layout))
    types = {
        key: merge.part(
            "module_types",
            {"site_id": site, "key": key},
            _columns(sheet, _DATASHEET, ["warranty"]) | _warranty_values(sheet.warranty),
            f"module {key}",
        )
        for key, sheet in layout.modules.items()
    }
    for place, box in enumerate(layout.combiners):
        where = {"site_id": site, "name": box.name}
        more = {"more": split_record(box, ["name"], ["strings"])[-1]}
        box_id = merge.part("combiners", where, more, box.name, position=place)
        for order, string in enumerate(box.strings):
            values = _columns(string, _STRING, ["module"])
            merge.part(
                "strings",
                {"combiner_id": box_id, "name": string.name},
                values | {"module_type_id": types[string.module]},
                f"string {box.name} / {string.name}",
                position=order,
            )
    return merge.found


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


class _Merge:
    """The rows of one layout on their way into the tables."""

    def __init__(self, connection: sqlite3.Connection, import_id: int | None) -> None:
        self.found = LayoutMerge()
        self._connection = connection
        self._import_id = import_id

    def site(self, values: Mapping[str, Any]) -> int:
        """The id of the file's one site, which stays even where its first import is undone."""
        names = ", ".join(values)
        row = self._connection.execute(f"SELECT id, {names} FROM sites").fetchone()
        if row is None:
            return insert(self._connection, "sites", values)
        self._change("sites", row[0], dict(zip(values, row[1:], strict=True)), values, "the site")
        return int(row[0])

    def part(
        self,
        table: str,
        where: Mapping[str, Any],
        values: Mapping[str, Any],
        what: str,
        position: int | None = None,
    ) -> int:
        """The id of the row found by the columns of `where`: added, or changed where it differs.

        One that only an import brought that was undone is as good as new.
        """
        condition = " AND ".join(f"{name} = ?" for name in where)
        row = self._connection.execute(
            f"SELECT one.id, hidden IS 1, {', '.join(f'one.{name}' for name in values)} "
            f"FROM {table} AS one LEFT JOIN imports ON imports.id = import_id WHERE {condition}",
            tuple(where.values()),
        ).fetchone()
        if row is not None and not row[1]:
            self._change(table, row[0], dict(zip(values, row[2:], strict=True)), values, what)
            return int(row[0])
        self.found.added += 1
        values = {**values, **self._placed(table, where, position), "import_id": self._import_id}
        if row is None:
            return insert(self._connection, table, {**where, **values})
        self._set(table, row[0], values)
        return int(row[0])

    def _change(
        self,
        table: str,
        number: int,
        old: Mapping[str, Any],
        values: Mapping[str, Any],
        what: str,
    ) -> None:
        before = {name: value for name, value in old.items() if value != values[name]}
        if not before:
            return
        after = {name: values[name] for name in before}
        self._set(table, number, after)
        self.found.changes.append(RowChange(table, number, before, after))
        self.found.said += [
            f"{what}: {self._words(name, value, after[name])}" for name, value in before.items()
        ]

    def _words(self, name: str, old: Any, new: Any) -> str:
        if name == "module_type_id":
            name, old, new = "module", self._module(old), self._module(new)
        return f"{name} changed from {old} to {new}"

    def _module(self, number: int) -> str:
        query = "SELECT key FROM module_types WHERE id = ?"
        return str(self._connection.execute(query, (number,)).fetchone()[0])

    def _set(self, table: str, number: int, values: Mapping[str, Any]) -> None:
        assigned = ", ".join(f"{name} = ?" for name in values)
        self._connection.execute(
            f"UPDATE {table} SET {assigned} WHERE id = ?", (*values.values(), number)
        )

    def _placed(self, table: str, where: Mapping[str, Any], position: int | None) -> dict[str, int]:
        """The row's place: as given in a new table, after all its neighbours where some are."""
        if position is None:
            return {}
        around = {name: value for name, value in where.items() if name != "name"}
        condition = " AND ".join(f"{name} = ?" for name in around)
        last = self._connection.execute(
            f"SELECT max(position) FROM current_{table} WHERE {condition}", tuple(around.values())
        ).fetchone()[0]
        return {"position": position if last is None else max(last + 1, position)}

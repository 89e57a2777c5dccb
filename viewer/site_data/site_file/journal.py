"""The operation journal: every change of a user's own rows, kept so that it can be undone.

The journal lies in the site file itself, so undo survives closing the program and works the
same from every window. An undo that would overwrite what another window has since changed is
refused with a sentence.
"""

import json
import sqlite3
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import asdict, dataclass
from typing import Any

from viewer.site_data.site_file.connection import SiteFile
from viewer.site_data.site_file.errors import SiteFileError
from viewer.site_data.site_file.record_columns import utc_now
from viewer.site_data.site_file.stored_results import forget_results

LAYOUT: frozenset[str] = frozenset(["combiners", "module_types", "sites", "strings"])

EDITABLE: frozenset[str] = LAYOUT | frozenset(
    [
        "findings",
        "imports",
        "modules",
        "notes",
        "pictures",
        "plot_marks",
        "repairs",
        "settings",
        "traces",
        "visits",
    ]
)
"""Tables the journal may change. Points, conditions and imported bytes are never changed."""


@dataclass(frozen=True)
class RowChange:
    """One row before and after, with the columns concerned; None where there is no row."""

    table: str
    id: int
    before: Mapping[str, Any] | None
    after: Mapping[str, Any] | None


@dataclass(frozen=True)
class Operation:
    """One entry of the journal; `label` says in words what was done."""

    id: int
    made_at: str
    label: str
    state: str


def change(site_file: SiteFile, label: str, changes: Sequence[RowChange]) -> None:
    """Make the changes and their journal entry in one transaction. Raises SiteFileError."""
    with site_file.writing() as connection:
        for one in changes:
            _apply(site_file, connection, one)
        record(connection, label, changes)


def add_row(site_file: SiteFile, label: str, table: str, values: Mapping[str, Any]) -> int:
    """Insert one row of an editable table as an operation; its id."""
    with site_file.writing() as connection:
        number = next_id(connection, table)
        one = RowChange(table, number, before=None, after=values)
        _apply(site_file, connection, one)
        record(connection, label, [one])
    return number


def change_row(
    site_file: SiteFile, label: str, table: str, number: int, values: Mapping[str, Any]
) -> None:
    """Change columns of one row of an editable table as an operation."""
    with site_file.writing() as connection:
        before = _row(connection, table, number, list(values))
        if before is None:
            raise SiteFileError(
                f"{site_file.path.name}: what you wanted to change was removed elsewhere."
            )
        one = RowChange(table, number, before=before, after=values)
        _apply(site_file, connection, one)
        record(connection, label, [one])


def remove_row(site_file: SiteFile, label: str, table: str, number: int) -> None:
    """Delete one row of an editable table as an operation, so that undo brings it back."""
    with site_file.writing() as connection:
        before = _row(connection, table, number, _columns(connection, table))
        if before is None:
            return
        one = RowChange(table, number, before=before, after=None)
        _apply(site_file, connection, one)
        record(connection, label, [one])


def record(connection: sqlite3.Connection, label: str, changes: Sequence[RowChange]) -> None:
    """Write the journal entry of changes already made; what had been undone can't be redone."""
    connection.execute("UPDATE journal SET state = 'dropped' WHERE state = 'undone'")
    connection.execute(
        "INSERT INTO journal (made_at, label, changes) VALUES (?, ?, ?)",
        (utc_now(), label, json.dumps([asdict(one) for one in changes])),
    )


@contextmanager
def one_step(site_file: SiteFile, label: str) -> Iterator[None]:
    """All changes made inside become one operation, stored together or not at all."""
    with site_file.writing() as connection:
        (last,) = connection.execute("SELECT coalesce(max(id), 0) FROM journal").fetchone()
        yield
        rows = connection.execute(
            "SELECT changes FROM journal WHERE id > ? ORDER BY id", (last,)
        ).fetchall()
        changes = [RowChange(**one) for (text,) in rows for one in json.loads(text)]
        if changes:
            connection.execute("DELETE FROM journal WHERE id > ?", (last,))
            record(connection, label, changes)


def operations(site_file: SiteFile) -> list[Operation]:
    """The whole journal, oldest first."""
    with site_file.reading() as connection:
        rows = connection.execute("SELECT id, made_at, label, state FROM journal ORDER BY id")
        return [Operation(*row) for row in rows]


def undo(site_file: SiteFile) -> str | None:
    """Take back the last operation; its label, or None when there is nothing to take back."""
    return _step(site_file, "done", "undone", "DESC")


def redo(site_file: SiteFile) -> str | None:
    """Do again the operation last taken back; its label, or None."""
    return _step(site_file, "undone", "done", "ASC")


def next_id(connection: sqlite3.Connection, table: str) -> int:
    """An id that no row, present or removed, has had."""
    last = connection.execute(f"SELECT coalesce(max(id), 0) FROM {_allowed(table)}").fetchone()[0]
    removed = connection.execute(
        "SELECT coalesce(max(json_extract(value, '$.id')), 0) FROM journal, "
        "json_each(journal.changes) WHERE json_extract(value, '$.table') = ?",
        (table,),
    ).fetchone()[0]
    return int(max(last, removed)) + 1


def _step(site_file: SiteFile, state: str, new_state: str, order: str) -> str | None:
    with site_file.writing() as connection:
        row = connection.execute(
            f"SELECT id, label, changes FROM journal WHERE state = ? ORDER BY id {order} LIMIT 1",
            (state,),
        ).fetchone()
        if row is None:
            return None
        number, label, text = row
        changes = [RowChange(**one) for one in json.loads(text)]
        if new_state == "undone":
            changes = [
                RowChange(one.table, one.id, before=one.after, after=one.before)
                for one in reversed(changes)
            ]
        for one in changes:
            _apply(site_file, connection, one)
        if any(_concerns_layout(connection, one) for one in changes):
            forget_results(connection)
        connection.execute("UPDATE journal SET state = ? WHERE id = ?", (new_state, number))
    return str(label)


def _concerns_layout(connection: sqlite3.Connection, one: RowChange) -> bool:
    """Whether the change makes the site's layout, or a trace's string, another."""
    if one.table == "traces":
        return "string_id" in (one.before or {})
    if one.table != "imports":
        return one.table in LAYOUT
    brought = " UNION ALL ".join(
        f"SELECT import_id FROM {table}" for table in sorted(LAYOUT - {"sites"})
    )
    row = connection.execute(f"SELECT 1 FROM ({brought}) WHERE import_id = ? LIMIT 1", (one.id,))
    return row.fetchone() is not None


def _apply(site_file: SiteFile, connection: sqlite3.Connection, one: RowChange) -> None:
    table = _allowed(one.table)
    names = list(one.before if one.before is not None else one.after or {})
    if _row(connection, table, one.id, names) != (dict(one.before) if one.before else None):
        raise SiteFileError(
            f"{site_file.path.name}: this step was left out because the same entry of "
            f"{table} has been changed since, perhaps in another window."
        )
    if one.after is None:
        connection.execute(f"DELETE FROM {table} WHERE id = ?", (one.id,))
    elif one.before is None:
        names = ["id", *one.after]
        marks = ", ".join("?" * len(names))
        connection.execute(
            f"INSERT INTO {table} ({', '.join(names)}) VALUES ({marks})",
            (one.id, *one.after.values()),
        )
    else:
        assigned = ", ".join(f"{name} = ?" for name in one.after)
        connection.execute(
            f"UPDATE {table} SET {assigned} WHERE id = ?", (*one.after.values(), one.id)
        )


def _row(
    connection: sqlite3.Connection, table: str, number: int, names: Sequence[str]
) -> dict[str, Any] | None:
    columns = ", ".join(names) or "id"
    row = connection.execute(
        f"SELECT {columns} FROM {_allowed(table)} WHERE id = ?", (number,)
    ).fetchone()
    return None if row is None else dict(zip(names, row, strict=False))


def _columns(connection: sqlite3.Connection, table: str) -> list[str]:
    rows = connection.execute(f"PRAGMA table_info({_allowed(table)})").fetchall()
    return [row[1] for row in rows if row[1] != "id"]


def _allowed(table: str) -> str:
    if table not in EDITABLE:
        raise ValueError(f"the journal does not change {table}")
    return table

"""Frozen records to table columns and back."""

import dataclasses
import json
import sqlite3
from collections.abc import Mapping, Sequence
from datetime import UTC, datetime
from typing import Any


def utc_now() -> str:
    """The present time as stored: ISO 8601, UTC, whole seconds."""
    return datetime.now(UTC).isoformat(timespec="seconds")


def time_text(moment: datetime | None) -> str | None:
    return None if moment is None else moment.isoformat()


def time_value(text: str | None) -> datetime | None:
    return None if text is None else datetime.fromisoformat(text)


def split_record(record: Any, columns: Sequence[str], left_out: Sequence[str] = ()) -> list[Any]:
    """The record's values in the order of `columns`, and last a JSON object of all others.

    Fields that equal their default stay out of the JSON. Raises TypeError for a further field
    that JSON cannot hold.
    """
    more = {
        field.name: getattr(record, field.name)
        for field in dataclasses.fields(record)
        if field.name not in columns
        and field.name not in left_out
        and getattr(record, field.name) != field.default
    }
    return [getattr(record, name) for name in columns] + [json.dumps(more)]


def join_record(columns: Sequence[str], row: Sequence[Any]) -> dict[str, Any]:
    """Keyword arguments for the record from a row made by `split_record`."""
    *values, more = row
    further = {
        name: tuple(value) if isinstance(value, list) else value
        for name, value in json.loads(more).items()
    }
    return dict(zip(columns, values, strict=True)) | further


def insert(connection: sqlite3.Connection, table: str, values: Mapping[str, Any]) -> int:
    """Insert one row and return its id. `table` and the keys are the program's own words."""
    names = ", ".join(values)
    marks = ", ".join("?" * len(values))
    cursor = connection.execute(
        f"INSERT INTO {table} ({names}) VALUES ({marks})", tuple(values.values())
    )
    assert cursor.lastrowid is not None  # sqlite3 gives None only before the first insert
    return cursor.lastrowid

"""The visit that traces on their way into the site file belong to."""

import sqlite3
from datetime import datetime

from viewer.site_data.site_file.journal import RowChange
from viewer.site_data.site_file.record_columns import insert, time_text, time_value
from viewer.site_data.visit_grouping import LONGEST_PAUSE, VisitGroup, comparable

_KNOWN = """
    SELECT id, started_at, ended_at FROM visits
    WHERE id IN (SELECT visit_id FROM current_traces) OR id NOT IN (SELECT visit_id FROM traces)
"""
"""Visits that are shown or were made in this import; not those of imports that were undone."""


def visit_of(connection: sqlite3.Connection, group: VisitGroup) -> tuple[int, list[RowChange]]:
    """The id of the group's visit, one already there close in time or a new one, and what
    changed in that which was there.
    """
    site = connection.execute("SELECT id FROM sites").fetchone()[0]
    rows = connection.execute(_KNOWN).fetchall()
    for number, start, end in rows:
        if _joins(group, time_value(start), time_value(end)):
            return int(number), _widen(connection, number, group, start, end)
    values = {
        "site_id": site,
        "name": group.name,
        "started_at": time_text(group.started_at),
        "ended_at": time_text(group.ended_at),
        "is_baseline": int(not rows and group.started_at is not None),
    }
    return insert(connection, "visits", values), []


def _joins(group: VisitGroup, start: datetime | None, end: datetime | None) -> bool:
    if group.started_at is None or group.ended_at is None or start is None or end is None:
        return group.started_at is None and start is None
    return (
        comparable(group.started_at) <= comparable(end) + LONGEST_PAUSE
        and comparable(group.ended_at) >= comparable(start) - LONGEST_PAUSE
    )


def _widen(
    connection: sqlite3.Connection, number: int, group: VisitGroup, start: str, end: str
) -> list[RowChange]:
    """The visit lasts from the first to the last trace of both."""
    first, last = time_value(start), time_value(end)
    if group.started_at is None or group.ended_at is None or first is None or last is None:
        return []
    before = {"started_at": start, "ended_at": end}
    after = {
        "started_at": time_text(min(first, group.started_at, key=comparable)),
        "ended_at": time_text(max(last, group.ended_at, key=comparable)),
    }
    if after == before:
        return []
    connection.execute(
        "UPDATE visits SET started_at = ?, ended_at = ? WHERE id = ?", (*after.values(), number)
    )
    return [RowChange("visits", number, before, after)]

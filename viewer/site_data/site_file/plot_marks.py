"""What people drew on plots, kept with the trace; every change is a step of the journal.

A mark is a table of plain values here: kind, panel, form, points, text and, for a callout,
point. Traces are named by the source under which the program shows them.
"""

import json
from collections import Counter
from collections.abc import Mapping
from typing import Any

from viewer.site_data.site_file import journal
from viewer.site_data.site_file.connection import SiteFile
from viewer.site_data.site_file.errors import SiteFileError
from viewer.site_data.site_file.record_columns import time_value, utc_now
from viewer.site_data.site_file.stored_visits import told_apart

TABLE = "plot_marks"
LABEL = "Plot mark"
"""How the labels of these steps begin in the journal."""


def read_plot_marks(site_file: SiteFile) -> list[tuple[int, str, dict[str, Any]]]:
    """(id, source of the trace, mark) of every mark on a trace that is shown.

    A mark on a trace that a later import replaced is shown on the trace that replaced it.
    """
    with site_file.reading() as connection:
        rows = connection.execute(
            "SELECT id, trace_id, kind, panel, form, points, text, point FROM plot_marks "
            "ORDER BY id"
        ).fetchall()
        if not rows:
            return []  # most sites have none: the window need not go through all its traces
        sources = {number: source for source, number in trace_numbers(site_file).items()}
        replaced = dict(
            connection.execute("SELECT id, replaced_by FROM traces WHERE replaced_by NOT NULL")
        )
    found: list[tuple[int, str, dict[str, Any]]] = []
    for number, trace, kind, panel, form, points, text, point in rows:
        while trace in replaced:
            trace = replaced[trace]
        mark: dict[str, Any] = {"kind": kind, "panel": panel, "form": form, "text": text}
        mark["points"] = json.loads(points)
        if point is not None:
            mark["point"] = point
        if trace in sources:
            found.append((number, sources[trace], mark))
    return found


def trace_numbers(site_file: SiteFile) -> dict[str, int]:
    """The id of every shown trace by the source under which the program knows it."""
    with site_file.reading() as connection:
        rows = connection.execute(
            "SELECT id, source, measured_at FROM current_traces ORDER BY id"
        ).fetchall()
    seen: Counter[str] = Counter()
    found: dict[str, int] = {}
    for number, source, measured_at in rows:
        seen[source] += 1
        found[told_apart(source, time_value(measured_at), seen[source])] = number
    return found


def add_plot_mark(site_file: SiteFile, source: str, mark: Mapping[str, Any], label: str) -> int:
    """Keep a mark on a trace; its id. Raises SiteFileError."""
    number = trace_numbers(site_file).get(source)
    if number is None:
        raise SiteFileError(f"{site_file.path.name}: it has no trace {source}.")
    values = {"trace_id": number, **_columns(mark), "created_at": utc_now()}
    return journal.add_row(site_file, f"{LABEL}: {label}", TABLE, values)


def change_plot_mark(site_file: SiteFile, number: int, mark: Mapping[str, Any], label: str) -> None:
    journal.change_row(site_file, f"{LABEL}: {label}", TABLE, number, _columns(mark))


def remove_plot_mark(site_file: SiteFile, number: int, label: str) -> None:
    journal.remove_row(site_file, f"{LABEL}: {label}", TABLE, number)


def _columns(mark: Mapping[str, Any]) -> dict[str, Any]:
    return {
        "kind": mark["kind"],
        "panel": mark["panel"],
        "form": mark["form"],
        "points": json.dumps(mark["points"]),
        "text": mark["text"],
        "point": mark.get("point"),
    }

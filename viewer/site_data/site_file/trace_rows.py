"""Traces in the site file: written whole, read back equal."""

import json
import sqlite3
from collections.abc import Iterator, Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

from viewer.site_data.iv_trace import MeasuredConditions, Trace, Unreadable
from viewer.site_data.site_file.connection import SiteFile
from viewer.site_data.site_file.record_columns import (
    insert,
    join_record,
    split_record,
    time_text,
    time_value,
)

POINT_TYPE = np.dtype("<f8")
"""How the points lie in the blobs of `trace_points`."""

_TRACE = ["source", "combiner", "string", "serial", "note", "sha256"]
_OWN_FORM = ["measured_at", "remarks", "voltage", "current", "conditions"]
_CONDITIONS = [
    "poa_global",
    "poa_global_end",
    "poa_rear",
    "temperature_module",
    "temperature_cell",
    "temperature_air",
    "wind_speed",
    "reference_cell",
    "temperature_reference_cell",
]
_SELECT = (
    "SELECT traces.id, "
    + ", ".join(f"traces.{name}" for name in [*_TRACE, "more", "measured_at", "remarks"])
    + ", voltage, current, "
    + ", ".join(f"conditions.{name}" for name in [*_CONDITIONS, "more"])
    + " FROM current_traces AS traces JOIN trace_points ON trace_points.trace_id = traces.id"
    " JOIN conditions ON conditions.trace_id = traces.id"
)


def read_traces(
    site_file: SiteFile, trace_ids: Sequence[int] | None = None, visit_id: int | None = None
) -> Iterator[tuple[int, Trace]]:
    """(id, trace) of the traces shown now, in the order of import: all, some, or one visit's."""
    if trace_ids is not None:
        for first in range(0, len(trace_ids), 500):
            part = trace_ids[first : first + 500]
            marks = ", ".join("?" * len(part))
            yield from _read(site_file, f" WHERE traces.id IN ({marks})", part)
    elif visit_id is not None:
        yield from _read(site_file, " WHERE traces.visit_id = ?", [visit_id])
    else:
        yield from _read(site_file, "", [])


def _read(
    site_file: SiteFile, condition: str, values: Sequence[int]
) -> Iterator[tuple[int, Trace]]:
    with site_file.reading() as connection:
        for row in connection.execute(f"{_SELECT}{condition} ORDER BY traces.id", tuple(values)):
            yield row[0], _trace(row[1:])


def read_unreadable(site_file: SiteFile) -> list[Unreadable]:
    """The files that imports could not read and that no later import has read."""
    with site_file.reading() as connection:
        rows = connection.execute(
            "SELECT source, problem FROM unread_files AS files "
            "JOIN imports ON imports.id = import_id WHERE hidden = 0 AND NOT EXISTS "
            "(SELECT 1 FROM current_traces AS later WHERE later.import_id > files.import_id AND "
            "substr(later.source || '#', 1, length(files.source) + 1) = files.source || '#') "
            "GROUP BY source"
        )
        return [Unreadable(source, problem) for source, problem in rows]


def _trace(row: Sequence[Any]) -> Trace:
    size = len(_TRACE) + 1
    measured_at, remarks, voltage, current = row[size : size + 4]
    return Trace(
        **join_record(_TRACE, row[:size]),
        measured_at=time_value(measured_at),
        remarks=tuple(json.loads(remarks)),
        voltage=_points(voltage),
        current=_points(current),
        conditions=MeasuredConditions(**join_record(_CONDITIONS, row[size + 4 :])),
    )


def _points(blob: bytes) -> NDArray[np.float64]:
    return np.frombuffer(blob, dtype=POINT_TYPE).astype(np.float64)


def write_trace(
    connection: sqlite3.Connection,
    trace: Trace,
    *,
    import_id: int,
    visit_id: int,
    string_id: int | None,
    file_sha256: str | None,
) -> int:
    """Insert one trace with its points and conditions; its id."""
    *values, more = split_record(trace, _TRACE, _OWN_FORM)
    trace_id = insert(
        connection,
        "traces",
        {
            "import_id": import_id,
            "visit_id": visit_id,
            "string_id": string_id,
            "file_sha256": file_sha256,
            **dict(zip(_TRACE, values, strict=True)),
            "measured_at": time_text(trace.measured_at),
            "remarks": json.dumps(list(trace.remarks)),
            "more": more,
        },
    )
    voltage = np.ascontiguousarray(trace.voltage, dtype=POINT_TYPE)
    current = np.ascontiguousarray(trace.current, dtype=POINT_TYPE)
    connection.execute(
        "INSERT INTO trace_points VALUES (?, ?, ?, ?)",
        (trace_id, voltage.size, voltage.tobytes(), current.tobytes()),
    )
    marks = ", ".join("?" * (len(_CONDITIONS) + 2))
    connection.execute(
        f"INSERT INTO conditions (trace_id, {', '.join(_CONDITIONS)}, more) VALUES ({marks})",
        (trace_id, *split_record(trace.conditions, _CONDITIONS)),
    )
    return trace_id

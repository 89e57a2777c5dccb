"""Key numbers of an analysis beside the traces, so that a site opens without computing anew."""

import math
import sqlite3
from collections.abc import Iterable
from dataclasses import dataclass

from viewer.physics.measured_sweep.key_points import KeyPoints
from viewer.physics.nomenclature import KEY_POINT_NAMES
from viewer.site_data.site_file.connection import SiteFile
from viewer.site_data.site_file.record_columns import utc_now


@dataclass(frozen=True)
class KeyNumbers:
    """What is kept of one trace's analysis; None where it could not be computed.

    poa_global [W/m²] and temperature_cell [°C] as used, translated at STC, the expanded
    uncertainty with k = 2, the cause's likelihood 0..1.
    """

    trace_id: int
    measured: KeyPoints | None
    translated: KeyPoints | None = None
    poa_global: float | None = None
    temperature_cell: float | None = None
    power_ratio: float | None = None
    power_ratio_uncertainty: float | None = None
    first_cause: str | None = None
    first_cause_likelihood: float | None = None


_COLUMNS = (
    ["trace_id", "program_version", "computed_at", "poa_global", "temperature_cell"]
    + [f"measured_{name}" for name in KEY_POINT_NAMES]
    + [f"translated_{name}" for name in KEY_POINT_NAMES]
    + ["power_ratio", "power_ratio_uncertainty", "first_cause", "first_cause_likelihood"]
)


def store_results(
    site_file: SiteFile, results: Iterable[KeyNumbers], *, program_version: str
) -> int:
    """Store the key numbers, replacing earlier ones, in one transaction; how many."""
    now = utc_now()
    marks = ", ".join("?" * len(_COLUMNS))
    statement = f"INSERT OR REPLACE INTO results ({', '.join(_COLUMNS)}) VALUES ({marks})"
    rows = [
        (
            one.trace_id,
            program_version,
            now,
            _number(one.poa_global),
            _number(one.temperature_cell),
            *_key_points(one.measured),
            *_key_points(one.translated),
            _number(one.power_ratio),
            _number(one.power_ratio_uncertainty),
            one.first_cause,
            _number(one.first_cause_likelihood),
        )
        for one in results
    ]
    with site_file.writing() as connection:
        connection.executemany(statement, rows)
    return len(rows)


def forget_results(connection: sqlite3.Connection) -> None:
    """Remove all key numbers: the layout they were computed with is no longer the file's."""
    connection.execute("DELETE FROM results")


def traces_without_results(connection: sqlite3.Connection) -> tuple[int, ...]:
    """The ids of the shown traces that have no key numbers (any more)."""
    rows = connection.execute(
        "SELECT id FROM current_traces WHERE id NOT IN (SELECT trace_id FROM results) ORDER BY id"
    )
    return tuple(number for (number,) in rows)


def _key_points(points: KeyPoints | None) -> list[float | None]:
    if points is None:
        return [None] * len(KEY_POINT_NAMES)
    return [_number(value) for value in points.as_dict().values()]


def _number(value: float | None) -> float | None:
    """A number SQLite keeps as one; NaN becomes NULL, infinities too."""
    return float(value) if value is not None and math.isfinite(value) else None

"""What a site file shows when it is opened: visits, and traces with their key numbers."""

import math
from datetime import datetime
from typing import Any, NamedTuple

from viewer.site_data.site_file.connection import SiteFile
from viewer.site_data.site_file.record_columns import time_value


class Visit(NamedTuple):
    """One visit that has traces; the times are None for the undated ones."""

    id: int
    name: str
    started_at: datetime | None
    ended_at: datetime | None
    is_baseline: bool
    trace_count: int
    note: str | None


class ListedTrace(NamedTuple):
    """One trace without its points; key numbers are NaN until results have been stored.

    poa_global [W/m²] and temperature_cell [°C] as used; translated_p_mp [W] at STC;
    power_ratio and its expanded uncertainty (k = 2).
    """

    id: int
    visit_id: int
    source: str
    combiner: str | None
    string: str | None
    measured_at: str | None
    serial: str | None
    note: str | None
    poa_global: float
    temperature_cell: float
    i_sc: float
    v_oc: float
    p_mp: float
    fill_factor: float
    translated_p_mp: float
    power_ratio: float
    power_ratio_uncertainty: float
    first_cause: str | None


_LIST = """
    SELECT traces.id, visit_id, source, combiner, string, measured_at, serial, note,
           ifnull(results.poa_global, conditions.poa_global),
           ifnull(results.temperature_cell, conditions.temperature_cell),
           measured_i_sc, measured_v_oc, measured_p_mp, measured_fill_factor, translated_p_mp,
           power_ratio, power_ratio_uncertainty, first_cause
    FROM current_traces AS traces
    JOIN conditions ON conditions.trace_id = traces.id
    LEFT JOIN results ON results.trace_id = traces.id
    ORDER BY traces.id
"""


def list_traces(site_file: SiteFile) -> list[ListedTrace]:
    """Every trace shown now, in the order of import."""
    with site_file.reading() as connection:
        return [_listed(row) for row in connection.execute(_LIST)]


def _listed(row: tuple[Any, ...]) -> ListedTrace:
    numbers = [math.nan if value is None else value for value in row[8:17]]
    return ListedTrace._make((*row[:8], *numbers, row[17]))


def list_visits(site_file: SiteFile) -> list[Visit]:
    """The visits that have traces, by time. One is the baseline: the marked or first dated one."""
    with site_file.reading() as connection:
        rows = connection.execute(
            "SELECT visits.id, name, started_at, ended_at, is_baseline, count(*), visits.note "
            "FROM visits JOIN current_traces ON visit_id = visits.id GROUP BY visits.id "
            "ORDER BY started_at IS NULL, started_at, visits.id"
        ).fetchall()
    visits = [
        Visit(number, name, time_value(start), time_value(end), bool(marked), count, note)
        for number, name, start, end, marked, count, note in rows
    ]
    dated = [visit for visit in visits if visit.started_at is not None]
    if dated and not any(visit.is_baseline for visit in visits):
        first = visits.index(dated[0])
        visits[first] = visits[first]._replace(is_baseline=True)
    return visits

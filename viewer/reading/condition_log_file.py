"""A separate file of logged conditions: any table with a time and known quantities."""

from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from viewer.physics.nomenclature import quantity
from viewer.reading.file_tables import read_tables
from viewer.reading.notation.clock_text import EXAMPLE, TimeTextError
from viewer.reading.notation.column_words import UNIT_KIND, meaning_of, names_a_temperature
from viewer.reading.notation.limits import Deadline, NoTableError, UnreadableFileError
from viewer.reading.notation.time_column import TimeColumn, read_time_column
from viewer.reading.notation.units import unit_of
from viewer.reading.plain.key_names import CONDITION_NAMES
from viewer.reading.recipes.recipe import TextRules
from viewer.reading.tables.file_text import read_bytes
from viewer.reading.tables.raw_table import RawTable
from viewer.site_data.condition_log import ConditionLog

SECONDS_LIMIT = 20.0
"""A log of a year in steps of two minutes has 260,000 rows."""

_TIME_ROLES = ("measured_at", "date", "clock", "point_time")


def read_condition_log(path: Path) -> ConditionLog:
    """The log in that file. Raises UnreadableFileError with one sentence."""
    source = path.name
    deadline = Deadline(source, SECONDS_LIMIT)
    try:
        tables = read_tables(read_bytes(path, source), source, TextRules(), deadline).tables
    except NoTableError:
        tables = ()
    if not tables:
        raise UnreadableFileError(f"{source} holds no table of times and readings.")
    table = max(tables, key=lambda one: len(one.rows))
    values, remarks = _conditions(table, source)
    if not values:
        names = table.headings() or "no headings"
        raise UnreadableFileError(
            f"{source}, {table.where(table.header_line)}: no column is named like one of "
            f"{', '.join(CONDITION_NAMES)}, only {names}; rename its columns."
        )
    column = _times(table, source)
    dated = np.isfinite(column.times)
    order = np.argsort(column.times[dated], kind="stable")
    return ConditionLog(
        source,
        column.times[dated][order],
        column.zoned,
        {name: readings[dated][order] for name, readings in values.items()},
        remarks,
    )


def _times(table: RawTable, source: str) -> TimeColumn:
    roles = [meaning.role if (meaning := meaning_of(name)) else "" for name in table.names]
    wanted = [at for role in _TIME_ROLES for at, one in enumerate(roles) if one == role]
    by_role = {roles[at]: at for at in reversed(wanted)}
    cells: list[str] | None = None
    if "date" in by_role and (clock := by_role.get("clock", by_role.get("point_time"))) is not None:
        dates, clocks = table.texts(by_role["date"]), table.texts(clock)
        cells = [f"{date} {time}" for date, time in zip(dates, clocks, strict=True)]
    for at in wanted or [0]:
        texts = cells or table.texts(at)
        try:
            return read_time_column(texts)
        except TimeTextError as error:
            problem = f"{table.column_title(at)} {error}"
            cells = None
    raise UnreadableFileError(
        f"{source}, {table.where()}: the log needs a column of times such as {EXAMPLE}; {problem}."
    )


def _conditions(
    table: RawTable, source: str
) -> tuple[dict[str, NDArray[np.float64]], tuple[str, ...]]:
    values: dict[str, NDArray[np.float64]] = {}
    remarks: list[str] = []
    for at, name in enumerate(table.names):
        meaning = meaning_of(name)
        role = meaning.role if meaning is not None else ""
        title = table.column_title(at)
        if role in CONDITION_NAMES and role not in values:
            unit = unit_of(table.units[at]) if table.units[at] else None
            if unit is not None and unit.kind != UNIT_KIND[role]:
                remarks.append(f"{title} is in {table.units[at]}, no unit of {role}: left out.")
                continue
            column = _readings(table, at)
            values[role] = column if unit is None else column * unit.factor + unit.offset
            remarks.append(
                f"{role} is {title} in {table.units[at] or quantity(role).unit} of {source}."
            )
        elif names_a_temperature(name):
            remarks.append(
                f"{title} was not used: it does not say whether it is of the module, the cell or "
                "the air."
            )
    return values, tuple(remarks)


def _readings(table: RawTable, at: int) -> NDArray[np.float64]:
    """The column's numbers, NaN where the logger wrote a word."""
    read = table.style.number
    values = (read(cell) for cell in table.texts(at))
    return np.array([np.nan if value is None else value for value in values], dtype=float)

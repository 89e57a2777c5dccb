"""Values of a recipe's fields for one trace: from key lines, columns, the path or the recipe."""

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from datetime import datetime

import numpy as np
from numpy.typing import NDArray

from viewer.physics.nomenclature import quantity
from viewer.reading.notation.clock_text import TimeTextError, read_time
from viewer.reading.notation.column_words import UNIT_KIND
from viewer.reading.notation.limits import UnreadableFileError
from viewer.reading.notation.number_style import POINT
from viewer.reading.notation.units import converter, split_unit
from viewer.reading.plain.key_names import CONDITION_NAMES
from viewer.reading.recipes.path_fields import path_fields
from viewer.reading.recipes.recipe import FieldSource, Recipe
from viewer.reading.tables.key_lines import normal_key
from viewer.reading.tables.raw_table import KeyLine, RawTable
from viewer.site_data.iv_trace import MeasuredConditions

STEADY = 0.001
"""A column of readings that moves less than this part of its mean counts as one reading."""


@dataclass
class FieldValues:
    """What was found for one trace; `remarks` has a sentence for all that could not be used."""

    texts: dict[str, str] = field(default_factory=dict)
    conditions: dict[str, float] = field(default_factory=dict)
    measured_at: datetime | None = None
    remarks: list[str] = field(default_factory=list)

    def measured_conditions(self) -> MeasuredConditions:
        return MeasuredConditions(**self.conditions)


def field_values(
    recipe: Recipe,
    table: RawTable,
    rows: NDArray[np.intp] | None,
    keys: Sequence[KeyLine],
    path: str,
) -> FieldValues:
    """The fields of the trace in those rows of the table (None: in all)."""
    found = FieldValues()
    for name, source in recipe.fields.items():
        if name in CONDITION_NAMES:
            _condition(found, name, source, table, rows, keys)
        else:
            text, where = _text(source, table, rows, keys)
            _set_text(found, name, text, where, source.pattern)
    for name, text in path_fields(path, recipe.paths).items():
        if name in CONDITION_NAMES:
            if name not in found.conditions:
                _set_condition(found, name, text, "", "The path", table)
        elif name not in found.texts:
            pattern = recipe.fields[name].pattern if name in recipe.fields else ""
            _set_text(found, name, text, "The path", pattern)
    return found


def _set_text(found: FieldValues, name: str, text: str, where: str, pattern: str) -> None:
    if not text:
        return
    if name != "measured_at":
        found.texts[name] = text
        return
    if found.measured_at is not None:
        return
    try:
        found.measured_at = read_time(text, pattern)
    except TimeTextError as error:
        found.remarks.append(f"{where}: measured_at {error}; it was left out.")


def _text(
    source: FieldSource,
    table: RawTable,
    rows: NDArray[np.intp] | None,
    keys: Sequence[KeyLine],
) -> tuple[str, str]:
    """The field's text and where it stands, for sentences."""
    if source.value:
        return source.value, "The recipe"
    if source.columns:
        row = 0 if rows is None else int(rows[0])
        found = [at for name in source.columns if (at := _column(table, name)) is not None]
        cells = [table.rows[row].cells[at : at + 1] for at in found]
        text = " ".join(cell for part in cells for cell in part if cell)
        return text, f"Column '{source.columns[0]}'"
    lines = [line for key in source.keys if (line := _line(keys, key)) is not None]
    text = " ".join(line.text for line in lines).strip()
    return text, f"Line {lines[0].line}" if lines else ""


def _line(keys: Sequence[KeyLine], key: str) -> KeyLine | None:
    """The key line so called; its unit and its capitals do not matter."""
    wanted, bare = normal_key(key), normal_key(split_unit(key)[0])
    for line in keys:
        if normal_key(line.key) == wanted:
            return line
    return next((line for line in keys if normal_key(split_unit(line.key)[0]) == bare), None)


def _column(table: RawTable, name: str) -> int | None:
    folded = name.casefold()
    return next((at for at, one in enumerate(table.names) if one.casefold() == folded), None)


def _condition(
    found: FieldValues,
    name: str,
    source: FieldSource,
    table: RawTable,
    rows: NDArray[np.intp] | None,
    keys: Sequence[KeyLine],
) -> None:
    if source.value:
        _set_condition(found, name, source.value, source.unit, "The recipe", table)
        return
    if source.keys:
        line = next((one for key in source.keys if (one := _line(keys, key)) is not None), None)
        if line is not None and line.text:
            unit = source.unit or split_unit(line.key)[1]
            _set_condition(found, name, line.text, unit, f"Line {line.line}", table)
        return
    at = _column(table, source.columns[0]) if source.columns else None
    if at is not None:
        _condition_from_column(found, name, source, table, rows, at)


def _set_condition(
    found: FieldValues, name: str, text: str, unit: str, where: str, table: RawTable
) -> None:
    for style in (table.style, POINT):
        value = style.number(text)
        if value is not None:
            break
    if value is None:
        found.remarks.append(f"{where}: {name} is '{text[:40]}', not a number; it was left out.")
        return
    if math.isnan(value):
        return
    convert = _converter(found, name, unit or style.unit_behind(text), where)
    if convert is not None:
        found.conditions[name] = convert(value)


def _converter(
    found: FieldValues, name: str, unit: str, where: str
) -> Callable[[float], float] | None:
    if not unit:
        return float
    convert = converter(unit, UNIT_KIND[name])
    if convert is None:
        found.remarks.append(
            f"{where}: {name} is in '{unit}', which is no unit for it; write it in "
            f"{quantity(name).unit}. It was left out."
        )
    return convert


def _condition_from_column(
    found: FieldValues,
    name: str,
    source: FieldSource,
    table: RawTable,
    rows: NDArray[np.intp] | None,
    at: int,
) -> None:
    where = f"Column '{table.names[at]}'"
    try:
        column = table.numbers(at, "")
    except UnreadableFileError:
        found.remarks.append(f"{where}: not all of {name} are numbers; it was left out.")
        return
    values = column if rows is None else column[rows]
    values = values[np.isfinite(values)]
    convert = _converter(found, name, source.unit or table.units[at], where)
    if convert is None or not values.size:
        return
    mean = convert(float(values.mean()))
    moved = abs(convert(float(values[-1])) - convert(float(values[0])))
    steady = np.ptp(values) == 0 or moved <= STEADY * abs(mean)
    found.conditions[name] = convert(float(values[0])) if np.ptp(values) == 0 else mean
    if name == "poa_global" and not steady:
        found.conditions.setdefault("poa_global_end", convert(float(values[-1])))
        found.remarks.append(
            "poa_global is the mean of the readings beside the points, poa_global_end the last."
        )

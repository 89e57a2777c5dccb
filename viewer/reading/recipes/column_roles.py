"""What each column of a table is: by its name, its unit and the shape of its numbers."""

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from viewer.reading.notation.column_words import (
    ALTERED,
    UNIT_KIND,
    label_left,
    meaning_of,
    names_a_temperature,
    names_another_thing,
    words_of,
)
from viewer.reading.notation.limits import UnreadableFileError
from viewer.reading.notation.sweep_shape import counts_rows, is_product, pair_shape
from viewer.reading.notation.units import unit_of
from viewer.reading.tables.raw_table import RawTable

ROLE_OF_KIND = {"voltage": "voltage", "current": "current", "power": "power", "time": "point_time"}
_SHAPE_ROWS = 400
_SHAPE_COLUMNS = 12


@dataclass(frozen=True)
class CurveAt:
    """Column indices of one curve's voltage and current, and the curve's label."""

    voltage: int
    current: int
    label: str = ""


@dataclass
class ColumnRoles:
    """What was found, with the reasons in words and the doubts a person should look at."""

    roles: list[str]
    """One for each column, "" for unknown."""
    curves: list[CurveAt] = field(default_factory=list)
    reasons: list[str] = field(default_factory=list)
    doubts: list[str] = field(default_factory=list)

    def first(self, role: str) -> int | None:
        return self.roles.index(role) if role in self.roles else None


def find_roles(table: RawTable) -> ColumnRoles:
    """Roles of all columns; `curves` is empty if no voltage and current could be told."""
    found = ColumnRoles([""] * table.width)
    certain = _by_name_and_unit(table, found)
    voltages = _candidates(table, found, "voltage", certain)
    currents = _candidates(table, found, "current", certain)
    found.curves = _paired(table, voltages, currents, found)
    if not found.curves:
        _by_shape(table, voltages, currents, found)
    for curve in found.curves[:1]:
        _check_orientation(table, curve, found)
    return found


def _by_name_and_unit(table: RawTable, found: ColumnRoles) -> list[bool]:
    """Sets roles from headings; returns for each column whether its name says so exactly."""
    certain = [False] * table.width
    for index, (name, unit) in enumerate(zip(table.names, table.units, strict=True)):
        meaning = meaning_of(name)
        kind = known.kind if (known := unit_of(unit)) else ""
        if meaning is not None:
            wanted = UNIT_KIND.get(meaning.role, "")
            if kind and wanted and kind != wanted:
                found.doubts.append(
                    f"{_capital(table.column_title(index))} is named like {meaning.role} but its "
                    f"unit {unit} is of {kind}; it was not used."
                )
                continue
            found.roles[index] = meaning.role
            certain[index] = meaning.exact
        elif names_another_thing(name):
            continue
        elif kind in ROLE_OF_KIND:
            found.roles[index] = ROLE_OF_KIND[kind]
        elif names_a_temperature(name):
            found.doubts.append(
                f"{_capital(table.column_title(index))} does not say whether it is of the module, "
                "the cell or the air; name it in the recipe to use it."
            )
    return certain


def _candidates(
    table: RawTable, found: ColumnRoles, role: str, certain: Sequence[bool]
) -> list[int]:
    columns = [
        index
        for index, one in enumerate(found.roles)
        if one == role and table.share_of_numbers(index) > 0.2
    ]
    plain = [at for at in columns if not ALTERED.intersection(words_of(table.names[at]))]
    exact = [at for at in plain if certain[at]]
    return exact or plain or columns


def _paired(
    table: RawTable, voltages: list[int], currents: list[int], found: ColumnRoles
) -> list[CurveAt]:
    if not voltages or not currents:
        return []
    if len(voltages) == len(currents) == 1:
        pair = [CurveAt(voltages[0], currents[0])]
        for role, at in (("voltage", voltages[0]), ("current", currents[0])):
            found.reasons.append(
                f"{_capital(table.column_title(at))} is the {role}: {_why(table, at)}."
            )
        return pair
    if len(voltages) == 1 and len(currents) > 1:
        labels = [_label(table, at, "current") for at in currents]
        if len(set(labels)) == len(labels) and sum(map(bool, labels)) >= len(labels) - 1:
            return _side_by_side(
                [
                    CurveAt(voltages[0], at, label)
                    for at, label in zip(currents, labels, strict=True)
                ],
                found,
            )
    if len(voltages) == len(currents):
        return _side_by_side(
            [
                CurveAt(v, i, _pair_label(table, v, i, number))
                for number, (v, i) in enumerate(zip(voltages, currents, strict=True), start=1)
            ],
            found,
        )
    found.doubts.append(
        f"There are {len(voltages)} columns of voltage and {len(currents)} of current; the first "
        "of each was used."
    )
    return [CurveAt(voltages[0], currents[0])]


def _side_by_side(curves: list[CurveAt], found: ColumnRoles) -> list[CurveAt]:
    names = ", ".join(curve.label for curve in curves[:3])
    more = ", ..." if len(curves) > 3 else ""
    found.reasons.append(f"{len(curves)} curves stand side by side: {names}{more}.")
    return curves


def _label(table: RawTable, at: int, role: str) -> str:
    return table.groups[at] or label_left(table.names[at], role)


def _pair_label(table: RawTable, v: int, i: int, number: int) -> str:
    one, two = _label(table, v, "voltage"), _label(table, i, "current")
    return one if one and one == two else (one or two if not (one and two) else "") or str(number)


def _why(table: RawTable, at: int) -> str:
    said = []
    if meaning_of(table.names[at]) is not None:
        said.append("its name says so")
    if table.units[at]:
        said.append(f"its unit is {table.units[at]}")
    return " and ".join(said) or "by its unit"


def _by_shape(
    table: RawTable, voltages: list[int], currents: list[int], found: ColumnRoles
) -> None:
    """The pair of columns whose numbers look most like a sweep."""
    numbers = _numeric_columns(table, found)
    best: tuple[float, int, int, str] | None = None
    firsts = voltages or list(numbers)
    seconds = currents or list(numbers)
    for v in firsts:
        for i in seconds:
            if v == i or v not in numbers or i not in numbers:
                continue
            shape = pair_shape(numbers[v], numbers[i])
            sure = 1.0 - (shape.exchanged if not (voltages or currents) else 0.0)
            score = shape.fits * sure * _bonus(numbers, v, i)
            if score > 0 and (best is None or score > best[0]):
                best = (score, v, i, shape.reason)
    if best is None:
        return
    _, v, i, reason = best
    found.curves = [CurveAt(v, i)]
    if voltages and not currents:
        found.curves = _all_against(table, v, numbers) or found.curves
    found.roles[v], found.roles[i] = "voltage", "current"
    title = _capital(table.column_title(v))
    found.reasons.append(f"{title} is taken as the voltage: {reason}.")
    found.doubts.append(
        f"Voltage and current were told by the shape of the numbers: {table.column_title(v)} and "
        f"{table.column_title(i)}; look at the curve."
    )


def _all_against(table: RawTable, v: int, numbers: dict[int, NDArray[np.float64]]) -> list[CurveAt]:
    """Every column that falls with the named voltage as a current does, each a curve."""
    curves = [
        CurveAt(v, at, table.groups[at] or table.names[at] or str(at + 1))
        for at in numbers
        if at != v and pair_shape(numbers[v], numbers[at]).fits > 0
    ]
    return curves if len(curves) > 1 else []


def _bonus(numbers: dict[int, NDArray[np.float64]], v: int, i: int) -> float:
    """A third column that is the product of the two is their power."""
    others = (at for at in numbers if at not in (v, i))
    return 2.0 if any(is_product(numbers[at], numbers[v], numbers[i]) for at in others) else 1.0


def _numeric_columns(table: RawTable, found: ColumnRoles) -> dict[int, NDArray[np.float64]]:
    columns = {}
    step = max(1, len(table.rows) // _SHAPE_ROWS)
    for index in range(min(table.width, _SHAPE_COLUMNS)):
        if found.roles[index] not in ("", "voltage", "current"):
            continue
        try:
            column = table.numbers(index, "")
        except UnreadableFileError:
            continue
        if not counts_rows(column) and np.isfinite(column).mean() > 0.5:
            columns[index] = column[::step]
    return columns


def _check_orientation(table: RawTable, curve: CurveAt, found: ColumnRoles) -> None:
    try:
        v, i = table.numbers(curve.voltage, ""), table.numbers(curve.current, "")
    except UnreadableFileError:
        return
    if unit_of(table.units[curve.voltage]) or unit_of(table.units[curve.current]):
        return
    shape = pair_shape(v, i)
    if shape.fits > 0.3 and shape.exchanged > 0.97:
        found.doubts.append(
            f"{_capital(table.column_title(curve.voltage))} and "
            f"{table.column_title(curve.current)} look exchanged: {shape.reason}."
        )


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]

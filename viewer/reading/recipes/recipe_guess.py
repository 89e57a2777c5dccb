"""From the tables of a file to a recipe for all files of its kind, with reasons and doubts."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from viewer.reading.notation.clock_text import TimeTextError, read_time
from viewer.reading.notation.column_words import UNIT_KIND, meaning_of, names_a_temperature
from viewer.reading.notation.limits import NoSweepError, UnreadableFileError
from viewer.reading.notation.sweep_shape import mostly_negative
from viewer.reading.notation.units import split_unit, unit_of
from viewer.reading.plain.plain_format import LEAST_POINTS
from viewer.reading.recipes.column_roles import ColumnRoles, CurveAt, find_roles
from viewer.reading.recipes.recipe import (
    FIELDS,
    ColumnRef,
    CurveColumns,
    FieldSource,
    Recipe,
    TextRules,
)
from viewer.reading.tables.raw_table import KeyLine, RawTable

GROUPING = ("trace", "combiner", "string", "serial", "measured_at", "date", "clock")
"""Roles of columns that may tell the traces of a long table apart, the surest first."""

HIGHEST_VOLTS = 3000.0
HIGHEST_AMPERES = 500.0
"""Values above without a unit are taken as mV or mA: systems end at 1500 V (IEC 62548)."""


@dataclass(frozen=True)
class Guess:
    recipe: Recipe
    reasons: tuple[str, ...]
    doubts: tuple[str, ...]


def guess_recipe(tables: Sequence[RawTable], text: TextRules, source: str) -> Guess:
    """The recipe that the first table with a curve suggests.

    Raises NoSweepError, with the headings that were seen, if there is none.
    """
    for table in tables:
        roles = find_roles(table)
        if roles.curves:
            return _guess(table, tables, roles, text, source)
    raise NoSweepError(_no_curve(tables, source))


def _no_curve(tables: Sequence[RawTable], source: str) -> str:
    if not tables:
        return (
            f"{source} has no line with two numbers in it, so there is no table of voltage and "
            "current; export the points of the sweep."
        )
    table = max(tables, key=lambda one: len(one.rows))
    names = [name for name in table.names if name]
    if not names:
        return (
            f"{source}, {table.where()}: no pair of columns looks like voltage and current; "
            "put headings above them or say in a recipe which they are."
        )
    missing = [
        role
        for role in ("voltage", "current")
        if not any((meaning := meaning_of(name)) and meaning.role == role for name in names)
    ]
    what = " and no ".join(missing) or "usable voltage and current"
    return (
        f"{source}, {table.where(table.header_line)}: there is no {what} column, only "
        f"{table.headings()}; rename it or say in a recipe which it is."
    )


def _guess(
    table: RawTable,
    tables: Sequence[RawTable],
    roles: ColumnRoles,
    text: TextRules,
    source: str,
) -> Guess:
    curves = tuple(_curve_columns(table, one, roles, source) for one in roles.curves)
    fields = _fields_from_columns(table, roles)
    keys = [line for one in tables for line in one.keys]
    fields |= {
        name: found for name, found in _fields_from_keys(keys, roles).items() if name not in fields
    }
    recipe = Recipe(
        text=text,
        sheet="",
        curves=curves,
        group_by=_group_by(table, roles),
        fields={name: fields[name] for name in FIELDS if name in fields},
    )
    return Guess(recipe, tuple(roles.reasons), tuple(roles.doubts))


def _curve_columns(
    table: RawTable, curve: CurveAt, roles: ColumnRoles, source: str
) -> CurveColumns:
    first = curve == roles.curves[0]
    return CurveColumns(
        _column_ref(table, curve.voltage, "voltage", roles, source, first),
        _column_ref(table, curve.current, "current", roles, source, first),
        curve.label,
    )


def _column_ref(
    table: RawTable, at: int, kind: str, roles: ColumnRoles, source: str, tell: bool
) -> ColumnRef:
    name = table.names[at]
    unit = table.units[at] if _measures(table.units[at], kind) else ""
    sign = 1
    try:
        column = table.numbers(at, source)
    except UnreadableFileError:
        return ColumnRef(name, 0 if name else at + 1, unit)
    finite = column[column == column]
    if not unit:
        unit = _unit_from_cells(table, at, kind) or _unit_from_size(
            table, at, kind, float(abs(finite).max()) if finite.size else 0.0, roles
        )
    if mostly_negative(column):
        sign = -1
        if tell:
            roles.doubts.append(f"The {kind} is mostly negative; its sign was turned.")
    unique = sum(1 for one in table.names if one == name) == 1
    return ColumnRef(name, 0 if name and unique else at + 1, unit, sign)


def _measures(unit: str, kind: str) -> bool:
    return (known := unit_of(unit)) is not None and known.kind == kind


def _unit_from_cells(table: RawTable, at: int, kind: str) -> str:
    unit = table.style.unit_behind(table.texts(at)[0])
    return unit if _measures(unit, kind) else ""


def _unit_from_size(table: RawTable, at: int, kind: str, top: float, roles: ColumnRoles) -> str:
    limit, unit = {"voltage": (HIGHEST_VOLTS, "mV"), "current": (HIGHEST_AMPERES, "mA")}[kind]
    if top <= limit:
        return ""
    roles.doubts.append(
        f"No unit stands with the {kind} and its values reach {top:.5g}; they were taken as {unit}."
    )
    return unit


def _fields_from_columns(table: RawTable, roles: ColumnRoles) -> dict[str, FieldSource]:
    used = {at for curve in roles.curves for at in (curve.voltage, curve.current)}
    found: dict[str, FieldSource] = {}
    for at, role in enumerate(roles.roles):
        if at in used or role not in FIELDS or not table.names[at] or role in found:
            continue
        if role == "measured_at" and table.share_of_numbers(at) > 0.5:
            continue  # seconds since the start of the sweep, not a time of day
        found[role] = FieldSource(columns=(table.names[at],), unit=table.units[at])
    date, clock = roles.first("date"), roles.first("clock")
    if "measured_at" not in found and date is not None:
        names = [table.names[at] for at in (date, clock) if at is not None]
        found["measured_at"] = FieldSource(columns=tuple(names))
    if "measured_at" not in found:
        found |= _day_and_time(table, (roles.first("point_time"), clock))
    return found


def _day_and_time(table: RawTable, places: Iterable[int | None]) -> dict[str, FieldSource]:
    """The time of measurement, where a column called "time" holds days with their times."""
    for at in places:
        if at is None or not table.names[at] or table.share_of_numbers(at) > 0.5:
            continue
        try:
            read_time(next(filter(None, table.texts(at)), ""))
        except TimeTextError:
            continue  # seconds of the sweep, or a time of day whose day is not known
        return {"measured_at": FieldSource(columns=(table.names[at],))}
    return {}


def _group_by(table: RawTable, roles: ColumnRoles) -> tuple[str, ...]:
    used = [""] * len(table.rows)
    names: list[str] = []
    count = 1
    for role in GROUPING:
        at = roles.first(role)
        if at is None or not table.names[at]:
            continue
        together = [f"{one}\n{two}" for one, two in zip(used, table.texts(at), strict=True)]
        distinct = len(set(together))
        if count < distinct <= len(table.rows) / LEAST_POINTS:
            used, count = together, distinct
            names.append(table.names[at])
            roles.reasons.append(f"{_title(table, at)} tells {distinct} traces apart.")
    return tuple(names)


def _title(table: RawTable, at: int) -> str:
    title = table.column_title(at)
    return title[:1].upper() + title[1:]


def _fields_from_keys(keys: Iterable[KeyLine], roles: ColumnRoles) -> dict[str, FieldSource]:
    found: dict[str, FieldSource] = {}
    date = clock = ""
    for line in keys:
        name, unit = split_unit(line.key)
        meaning = meaning_of(name)
        role = meaning.role if meaning else ""
        if role == "date":
            date = date or line.key
        elif role in ("clock", "point_time"):
            clock = clock or line.key
        elif role in FIELDS and role not in found:
            kind = UNIT_KIND.get(role, "")
            known = unit_of(unit)
            if known is None or known.kind == kind:
                found[role] = FieldSource(keys=(line.key,))
        elif names_a_temperature(name) and len(roles.doubts) < 20:
            roles.doubts.append(
                f"'{line.key}: {line.text}' does not say whether it is of the module, the cell or "
                "the air; it was not used."
            )
    if "measured_at" not in found and (date or clock):
        found["measured_at"] = FieldSource(keys=tuple(filter(None, (date, clock))))
    return found

"""Corrections of a reading recipe, one at a time: a recipe in, another out."""

from dataclasses import replace

import numpy as np

from viewer.reading.notation.limits import UnreadableFileError
from viewer.reading.notation.sweep_shape import pair_shape
from viewer.reading.notation.units import unit_of
from viewer.reading.recipes.recipe import ColumnRef, CurveColumns, FieldSource, Recipe, TextRules
from viewer.reading.tables.raw_table import RawTable
from viewer.reading.trace_building import find_column

GROUP = "group"
"""Role of a column whose values tell the traces of one table apart."""

CURVE_ROLES = ("voltage", "current")


def column_ref(table: RawTable, at: int, kind: str, sign: int = 1) -> ColumnRef:
    """That column as recipes name it: by its heading, by number where that is not enough."""
    name = table.names[at]
    known = unit_of(table.units[at])
    unit = table.units[at] if known is not None and known.kind == kind else ""
    unique = bool(name) and table.names.count(name) == 1
    return ColumnRef(name, 0 if unique else at + 1, unit, sign)


def with_role(recipe: Recipe, table: RawTable, at: int, role: str) -> Recipe:
    """That column as voltage, current, GROUP, a field, or "" for nothing."""
    if role in CURVE_ROLES:
        return _as_curve(without_column(recipe, table, at, curves=False), table, at, role)
    freed = without_column(recipe, table, at)
    name = table.names[at]
    if not role or not name:
        return freed
    if role == GROUP:
        return replace(freed, group_by=(*freed.group_by, name))
    source = FieldSource(columns=(name,), unit=table.units[at])
    return replace(freed, fields={**freed.fields, role: source})


def without_column(recipe: Recipe, table: RawTable, at: int, curves: bool = True) -> Recipe:
    """The recipe with nothing taken from that column; `curves`: nor its curves."""
    folded = table.names[at].casefold()
    kept = [
        one
        for one in recipe.curves
        if not curves
        or at not in (find_column(table, one.voltage), find_column(table, one.current))
    ]
    return replace(
        recipe,
        curves=tuple(kept),
        group_by=tuple(one for one in recipe.group_by if one.casefold() != folded),
        fields={
            name: source
            for name, source in recipe.fields.items()
            if folded not in [one.casefold() for one in source.columns]
        },
    )


def _as_curve(recipe: Recipe, table: RawTable, at: int, role: str) -> Recipe:
    ref = column_ref(table, at, role)
    if len(recipe.curves) > 1 and role == "current":
        label = table.groups[at] or table.names[at] or str(at + 1)
        others = tuple(one for one in recipe.curves if find_column(table, one.current) != at)
        return replace(recipe, curves=(*others, CurveColumns(others[0].voltage, ref, label)))
    if recipe.curves:
        return with_curve(recipe, table, 0, role, at)
    partner = likely_partner(table, at)
    if partner is None:
        return recipe
    other = column_ref(table, partner, "current" if role == "voltage" else "voltage")
    pair = (ref, other) if role == "voltage" else (other, ref)
    return replace(recipe, curves=(CurveColumns(*pair),))


def likely_partner(table: RawTable, at: int) -> int | None:
    """The column that looks most like the other half of a sweep, else any other of numbers."""
    best: tuple[float, int] | None = None
    for other in range(table.width):
        if other == at:
            continue
        fits = _fits(table, at, other)
        if fits is not None and (best is None or fits > best[0]):
            best = (fits, other)
    return best[1] if best else None


def _fits(table: RawTable, one: int, two: int) -> float | None:
    try:
        first, second = table.numbers(one, ""), table.numbers(two, "")
    except UnreadableFileError:
        return None
    return pair_shape(first, second).fits if np.isfinite(second).any() else None


def with_curve(recipe: Recipe, table: RawTable, which: int, kind: str, at: int) -> Recipe:
    """Another column as the voltage or current (`kind`) of the curve numbered `which` from 0."""
    curve = recipe.curves[which]
    voltage, current = curve.voltage, curve.current
    if kind == "voltage":
        if find_column(table, current) == at:
            current = _moved(table, voltage, current, "current")
        voltage = column_ref(table, at, "voltage", voltage.sign)
    else:
        if find_column(table, voltage) == at:
            voltage = _moved(table, current, voltage, "voltage")
        current = column_ref(table, at, "current", current.sign)
    changed = CurveColumns(voltage, current, curve.label)
    return replace(recipe, curves=(*recipe.curves[:which], changed, *recipe.curves[which + 1 :]))


def _moved(table: RawTable, to: ColumnRef, before: ColumnRef, kind: str) -> ColumnRef:
    """The other half takes the column that has become free: the two are exchanged."""
    at = find_column(table, to)
    return before if at is None else column_ref(table, at, kind, before.sign)


def with_unit(recipe: Recipe, kind: str, unit: str) -> Recipe:
    """The unit of all voltages or all currents; "" takes the headings' own."""
    return _each(recipe, kind, unit=unit)


def with_sign(recipe: Recipe, kind: str, sign: int) -> Recipe:
    """The sign of all voltages or all currents: -1 turns them."""
    return _each(recipe, kind, sign=sign)


def _each(recipe: Recipe, kind: str, **changes: object) -> Recipe:
    curves = tuple(
        replace(one, **{kind: replace(getattr(one, kind), **changes)}) for one in recipe.curves
    )
    return replace(recipe, curves=curves)


def with_field(recipe: Recipe, name: str, source: FieldSource | None) -> Recipe:
    """Another place for a field, None for no place."""
    fields = {one: known for one, known in recipe.fields.items() if one != name}
    return replace(recipe, fields=fields | ({name: source} if source else {}))


def with_text(recipe: Recipe, rules: TextRules) -> Recipe:
    """Other rules for cutting the text; the columns, which may change by it, are found anew."""
    return replace(recipe, text=rules, curves=(), group_by=(), fields={})


def with_sheet(recipe: Recipe, sheet: str) -> Recipe:
    return replace(recipe, sheet=sheet)

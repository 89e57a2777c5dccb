"""What a recipe says of a table, in words: what each column is, where each field was found."""

from viewer.physics.nomenclature import CONDITIONS
from viewer.reading.notation.units import HOUSE_UNIT, converter
from viewer.reading.recipes.path_fields import path_fields
from viewer.reading.recipes.recipe import FIELDS, ColumnRef, FieldSource, Recipe, RecipeError
from viewer.reading.tables.key_lines import normal_key
from viewer.reading.tables.raw_table import RawTable
from viewer.reading.trace_building import find_column

FIELD_WORDS = {
    "combiner": "Combiner",
    "string": "String",
    "measured_at": "Measured at",
    "serial": "Serial number",
    "note": "Note",
    **{one.name: one.label for one in CONDITIONS},
}
"""Every field of a recipe as people call it, in the order of FIELDS."""

FIELD_UNITS = {one.name: one.unit for one in CONDITIONS}
GROUP_WORDS = "Tells traces apart"

PATH_EXAMPLES: tuple[tuple[str, str], ...] = (
    ("COMBINER / STRING.csv", r"(?P<combiner>[^/]+)/(?P<string>[^/]+)\.[^./]+$"),
    ("COMBINER_STRING.csv", r"(?P<combiner>[^/_]+)_(?P<string>[^/_.]+)[^/]*$"),
    (
        "COMBINER / STRING_DATE.csv",
        r"(?P<combiner>[^/]+)/(?P<string>[^/_]+)_(?P<date>[^/_.]+)[^/]*$",
    ),
    ("COMBINER / STRING / file", r"(?P<combiner>[^/]+)/(?P<string>[^/]+)/[^/]+$"),
)
"""Usual ways of naming folders and files, and the pattern for each."""


def column_marks(table: RawTable, recipe: Recipe) -> tuple[str, ...]:
    """For each column what it is and in which unit, "" where nothing is taken from it."""
    marks: list[list[str]] = [[] for _ in range(table.width)]
    for curve in recipe.curves:
        for kind, ref in (("voltage", curve.voltage), ("current", curve.current)):
            at = find_column(table, ref)
            if at is not None:
                _mark_curve(marks[at], table, at, kind, ref, curve.label)
    for name, source in recipe.fields.items():
        for column in source.columns:
            at = find_column(table, ColumnRef(column))
            if at is not None:
                unit = source.unit or table.units[at] or FIELD_UNITS.get(name, "")
                marks[at].append(_with_unit(FIELD_WORDS[name], unit if name in FIELD_UNITS else ""))
    for column in recipe.group_by:
        at = find_column(table, ColumnRef(column))
        if at is not None:
            marks[at].append(GROUP_WORDS)
    return tuple(", ".join(one) for one in marks)


def _mark_curve(
    said: list[str], table: RawTable, at: int, kind: str, ref: ColumnRef, label: str
) -> None:
    headed = table.units[at] if converter(table.units[at], kind) is not None else ""
    words = _with_unit(kind.capitalize(), ref.unit or headed or HOUSE_UNIT[kind])
    if ref.sign < 0:
        words += ", sign turned"
    if not any(one.startswith(words) for one in said):
        said.append(words + (f", {label}" if label and kind == "current" else ""))


def _with_unit(words: str, unit: str) -> str:
    return f"{words} ({unit})" if unit else words


def main_table(tables: tuple[RawTable, ...], recipe: Recipe) -> int:
    """Which of the tables to show first: one that holds the recipe's first curve."""
    for number, table in enumerate(tables):
        if recipe.sheet and table.place != recipe.sheet:
            continue
        if recipe.curves and _holds(table, recipe):
            return number
    return max(range(len(tables)), key=lambda one: len(tables[one].rows), default=0)


def _holds(table: RawTable, recipe: Recipe) -> bool:
    first = recipe.curves[0]
    return None not in (find_column(table, first.voltage), find_column(table, first.current))


def field_place(name: str, source: FieldSource, table: RawTable) -> str:
    """Where a field of that table comes from, with the text that stands there."""
    if source.value:
        return f"{FIELD_WORDS[name]}: '{source.value}' for every trace"
    if source.columns:
        return f"{FIELD_WORDS[name]}: column {' + '.join(source.columns)}"
    wanted = [normal_key(one) for one in source.keys]
    lines = [one for one in table.keys if normal_key(one.key) in wanted]
    said = "; ".join(f"{table.row_word} {one.line}, {one.key}: {one.text[:60]}" for one in lines)
    return f"{FIELD_WORDS[name]}: {said or ' + '.join(source.keys) + ' (not in this file)'}"


def path_words(source: str, patterns: tuple[str, ...]) -> tuple[str, bool]:
    """What the patterns find in a path, in one sentence, and whether they are right."""
    if not patterns:
        said = "Without a pattern the nearest folder is the combiner, the file's name the string."
        return said, True
    try:
        found = path_fields(source, patterns)
    except RecipeError as error:
        return f"{str(error)[:1].upper()}{str(error)[1:]}.", False
    if not found:
        return f"Nothing in {source or 'the path'} fits the pattern.", True
    named = [f"{FIELD_WORDS[name]} {found[name]}" for name in FIELDS if name in found]
    return f"From {source}: {', '.join(named)}.", True

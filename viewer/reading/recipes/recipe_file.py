"""Recipes as TOML: reading with a sentence for each error, and writing."""

import tomllib
from pathlib import Path

import tomli_w

from viewer.reading.notation.units import unit_of
from viewer.reading.recipes.path_fields import compiled
from viewer.reading.recipes.recipe import (
    FIELDS,
    VERSION,
    ColumnRef,
    CurveColumns,
    FieldSource,
    Recipe,
    RecipeError,
    TextRules,
)
from viewer.reading.tables.cell_grid import DELIMITERS
from viewer.site_data.toml_lines import Place, key_lines
from viewer.site_data.toml_table import Findings, Table
from viewer.site_data.whole_file import write_whole

_SIZE_LIMIT = 200_000


def load_recipe(path: Path) -> Recipe:
    """The recipe in that file. Raises RecipeError with one sentence a line."""
    try:
        if path.stat().st_size > _SIZE_LIMIT:
            raise RecipeError(f"{path.name} is too large for a recipe.")
        text = path.read_text(encoding="utf-8-sig")
    except OSError as error:
        raise RecipeError(f"{path} cannot be read: {error.strerror}.") from error
    except UnicodeDecodeError as error:
        raise RecipeError(f"{path.name} is not UTF-8 text; save it as UTF-8.") from error
    return parse_recipe(text, path.name)


def save_recipe(recipe: Recipe, path: Path) -> None:
    """Writes the recipe as TOML. Raises OSError."""
    write_whole(path, recipe_text(recipe))


def parse_recipe(text: str, file: str) -> Recipe:
    """The recipe in that text; `file` names it in sentences. Raises RecipeError."""
    try:
        data = tomllib.loads(text)
    except (tomllib.TOMLDecodeError, RecursionError, ValueError) as error:
        raise RecipeError(f"{file} is not valid TOML: {error}.") from error
    findings = Findings(file, key_lines(text))
    top = Table(data, (), "the recipe", findings)
    top.check_keys(("recipe", "name", "text", "sheet", "curve", "group_by", "fields", "paths"))
    if top.count("recipe") > VERSION:
        findings.problem(("recipe",), "the recipe is of a newer version of the program; update it.")
    recipe = Recipe(
        name=top.text("name", ""),
        text=_text_rules(data.get("text", {}), findings),
        sheet=top.text("sheet", ""),
        curves=tuple(_curves(top, findings)),
        group_by=_texts(top, "group_by"),
        fields=_fields(data.get("fields", {}), findings),
        paths=_texts(top, "paths"),
    )
    for pattern in recipe.paths:
        try:
            compiled(pattern)
        except RecipeError as error:
            findings.problem(("paths",), f"{error}.")
    if findings.problems:
        raise RecipeError("\n".join(findings.problems))
    return recipe


def _text_rules(data: object, findings: Findings) -> TextRules:
    table = Table(data, ("text",), "text", findings)
    table.check_keys(("encoding", "delimiter", "decimal", "thousands"))
    delimiter = table.text("delimiter", "")
    if delimiter and delimiter not in DELIMITERS:
        findings.problem(
            ("text", "delimiter"),
            f"delimiter '{delimiter}' is not known; write one of {', '.join(DELIMITERS)}.",
        )
    decimal = table.text("decimal", "")
    if decimal not in ("", ".", ","):
        findings.problem(("text", "decimal"), "decimal is either '.' or ','.")
    thousands = table.data.get("thousands")
    if thousands is not None and thousands not in ("", ".", ",", "'", " "):
        findings.problem(("text", "thousands"), "thousands is one of '', '.', ',', ''' and ' '.")
        thousands = None
    return TextRules(table.text("encoding", ""), delimiter, decimal, thousands)


def _curves(top: Table, findings: Findings) -> list[CurveColumns]:
    curves = []
    for number, data in enumerate(top.rows("curve")):
        place: Place = ("curve", number)
        table = Table(data, place, f"curve {number + 1}", findings)
        table.check_keys(("voltage", "current", "label"))
        voltage = _column(table, "voltage", "voltage", findings)
        current = _column(table, "current", "current", findings)
        if voltage is not None and current is not None:
            curves.append(CurveColumns(voltage, current, table.text("label", "")))
    return curves


def _column(curve: Table, key: str, kind: str, findings: Findings) -> ColumnRef | None:
    place = (*curve.place, key)
    if key not in curve:
        findings.problem(
            curve.place, f'{curve.what} has no {key}; add {key} = {{ column = "..." }}.'
        )
        return None
    table = Table(curve.data[key], place, f"{key} of {curve.what}", findings)
    table.check_keys(("column", "number", "unit", "sign"))
    column = table.data.get("column", "")
    name = column if isinstance(column, str) else ""
    number = table.count("number", 0, 0)
    if isinstance(column, int) and not isinstance(column, bool):
        number = column
    if not name and number < 1:
        findings.problem(place, f"{table.what} needs a column: its heading or its number from 1.")
        return None
    unit = table.text("unit", "")
    if unit and ((known := unit_of(unit)) is None or known.kind != kind):
        findings.problem(place, f"unit '{unit}' of {table.what} is not a unit of {kind}.")
    sign = table.data.get("sign", 1)
    if sign not in (1, -1):
        findings.problem(place, f"sign of {table.what} is either 1 or -1.")
        sign = 1
    return ColumnRef(name, number, unit, int(sign))


def _fields(data: object, findings: Findings) -> dict[str, FieldSource]:
    top = Table(data, ("fields",), "fields", findings)
    top.check_keys(FIELDS)
    found = {}
    for name, one in top.data.items():
        if name not in FIELDS:
            continue
        table = Table(one, ("fields", name), f"field {name}", findings)
        table.check_keys(("key", "keys", "column", "columns", "value", "unit", "pattern"))
        keys = _texts(table, "keys") or tuple(filter(None, (table.text("key", ""),)))
        columns = _texts(table, "columns") or tuple(filter(None, (table.text("column", ""),)))
        value = table.data.get("value", "")
        source = FieldSource(
            keys,
            columns,
            str(value),
            table.text("unit", ""),
            table.text("pattern", ""),
        )
        if sum(map(bool, (source.keys, source.columns, source.value))) != 1:
            findings.problem(table.place, f"{table.what} needs one of key, keys, column and value.")
        found[name] = source
    return found


def _texts(table: Table, key: str) -> tuple[str, ...]:
    value = table.data.get(key, [])
    if isinstance(value, list) and all(isinstance(one, str) for one in value):
        return tuple(value)
    table.findings.problem((*table.place, key), f'{key} is a list of texts: {key} = ["..."].')
    return ()


def recipe_text(recipe: Recipe) -> str:
    """TOML that reads back as the same recipe."""
    data: dict[str, object] = {"recipe": VERSION}
    if recipe.name:
        data["name"] = recipe.name
    if recipe.sheet:
        data["sheet"] = recipe.sheet
    if recipe.group_by:
        data["group_by"] = list(recipe.group_by)
    if recipe.paths:
        data["paths"] = list(recipe.paths)
    rules = recipe.text
    text = {
        key: value
        for key, value in vars(rules).items()
        if value or (key == "thousands" and value is not None)
    }
    if text:
        data["text"] = text
    data["curve"] = [_curve_data(curve) for curve in recipe.curves]
    data["fields"] = {name: _field_data(source) for name, source in recipe.fields.items()}
    return tomli_w.dumps(data)


def _curve_data(curve: CurveColumns) -> dict[str, object]:
    data: dict[str, object] = {"label": curve.label} if curve.label else {}
    for name, ref in (("voltage", curve.voltage), ("current", curve.current)):
        column: dict[str, object] = {"column": ref.name or ref.number}
        if ref.name and ref.number:
            column["number"] = ref.number
        if ref.unit:
            column["unit"] = ref.unit
        if ref.sign != 1:
            column["sign"] = ref.sign
        data[name] = column
    return data


def _field_data(source: FieldSource) -> dict[str, object]:
    data: dict[str, object] = {}
    for one, several, names in (
        ("key", "keys", source.keys),
        ("column", "columns", source.columns),
    ):
        if len(names) == 1:
            data[one] = names[0]
        elif names:
            data[several] = list(names)
    for name in ("value", "unit", "pattern"):
        if value := getattr(source, name):
            data[name] = value
    return data

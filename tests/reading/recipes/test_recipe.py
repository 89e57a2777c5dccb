"""Recipes: what was understood can be saved, edited, shared and applied; errors name the line."""

from dataclasses import replace

import pytest

from tests.reading.sweeps import comma, lines, only_trace, read
from viewer.physics.nomenclature import quantity
from viewer.reading.plain.key_names import CONDITION_NAMES
from viewer.reading.recipes.path_fields import path_fields
from viewer.reading.recipes.recipe import (
    ColumnRef,
    CurveColumns,
    FieldSource,
    Recipe,
    RecipeError,
    TextRules,
)
from viewer.reading.recipes.recipe_file import load_recipe, parse_recipe, recipe_text, save_recipe

FULL = Recipe(
    name="old tracer",
    text=TextRules("cp1252", ";", ",", "."),
    sheet="S1",
    curves=(
        CurveColumns(ColumnRef("U", 0, "mV"), ColumnRef("I", 4, "mA", -1), "left"),
        CurveColumns(ColumnRef(number=3), ColumnRef(number=4)),
    ),
    group_by=("Kurve",),
    fields={
        "combiner": FieldSource(value="CB1"),
        "measured_at": FieldSource(keys=("Datum", "Uhrzeit"), pattern="%d.%m.%Y %H:%M"),
        "poa_global": FieldSource(columns=("G",), unit="kW/m²"),
    },
    paths=(r"(?P<combiner>CB\d+)/(?P<string>[^/]+)\.csv$",),
)
TABLE = "Datum: 05/06/2024 10:15\nG: 0.8\nx;U;I\n" + lines("0;{v:.1f};{i:.2f}", (1e3, 1e3))


def test_saving_and_loading_changes_nothing(tmp_path):
    path = tmp_path / "recipe.toml"
    save_recipe(FULL, path)
    assert load_recipe(path) == FULL
    assert load_recipe(path) == parse_recipe(recipe_text(FULL), "r")


def test_what_was_guessed_reads_the_file_the_same_way():
    content = "Einstrahlung;812,5\nU [mV];I [mA]\n" + comma(lines("{v:.1f};{i:.2f}", (1e3, 1e3)))
    guessed = read(content)
    assert guessed.recipe is not None
    again = parse_recipe(recipe_text(guessed.recipe), "r")
    trace = only_trace(read(content, recipe=again))
    assert trace.conditions.poa_global == 812.5
    assert trace.conditions == only_trace(guessed).conditions


def test_a_recipe_says_what_no_one_can_guess():
    recipe = Recipe(
        curves=(CurveColumns(ColumnRef("U", unit="mV"), ColumnRef("I", unit="mA")),),
        fields={
            "measured_at": FieldSource(keys=("Datum",), pattern="%d/%m/%Y %H:%M"),
            "poa_global": FieldSource(keys=("G",), unit="kW/m2"),
            "temperature_cell": FieldSource(value="45"),
            "combiner": FieldSource(value="CB7"),
        },
        paths=(r"(?P<string>S\d+)_",),
    )
    trace = only_trace(read(TABLE, "visit/S12_a.csv", recipe))
    assert trace.measured_at is not None
    assert (trace.measured_at.day, trace.measured_at.month) == (5, 6)
    assert trace.conditions.poa_global == pytest.approx(800.0)
    assert trace.conditions.temperature_cell == 45.0
    assert (trace.combiner, trace.string) == ("CB7", "S12")


@pytest.mark.parametrize("name", CONDITION_NAMES)
def test_every_condition_may_be_given_in_any_unit_of_its_kind(name):
    other = {"W/m²": ("kW/m²", 800.0), "°C": ("K", 0.8 - 273.15), "m/s": ("km/h", 0.8 / 3.6)}
    unit, inside = other[quantity(name).unit]
    recipe = Recipe(fields={name: FieldSource(keys=("that",), unit=unit)})
    content = "that: 0.8\nV;I\n" + lines("{v:.3f};{i:.4f}")
    read_value = getattr(only_trace(read(content, recipe=recipe)).conditions, name)
    assert read_value == pytest.approx(inside)


def test_a_recipe_may_leave_the_columns_to_the_reader():
    recipe = Recipe(fields={"combiner": FieldSource(value="CB7")})
    trace = only_trace(read("V;I\n" + lines("{v:.3f};{i:.4f}"), recipe=recipe))
    assert trace.combiner == "CB7"


def test_columns_by_number_where_there_are_no_headings():
    recipe = Recipe(curves=(CurveColumns(ColumnRef(number=2), ColumnRef(number=1)),))
    reading = read(lines("{i:.4f};{v:.3f}"), recipe=recipe)
    only_trace(reading)
    assert reading.doubts == ()


def test_a_missing_column_is_told_with_the_line_and_what_there_is():
    recipe = replace(FULL, text=TextRules(), sheet="", group_by=(), fields={}, paths=())
    (failure,) = read("Spannung;Strom\n" + lines("{v};{i}"), recipe=recipe).failures
    assert failure.problem == (
        "a.csv, line 1: there is no column 'U' as the recipe old tracer; the table has "
        "'Spannung', 'Strom'. Correct the recipe or the file."
    )


CURVE = 'recipe = 1\n[[curve]]\nvoltage = { column = "U" }\ncurrent = { column = "I" }\n'


@pytest.mark.parametrize(
    ("text", "line", "says"),
    [
        ("recipe = 1\n[[curve]]\nvoltage = { column = 2 }\n", 2, "has no current"),
        (CURVE.replace('"U"', '"U", unit = "A"'), 3, "is not a unit of voltage"),
        (CURVE.replace('"I"', '"I", sign = 2'), 4, "either 1 or -1"),
        (CURVE.replace("curve", "curves"), 2, "did you mean curve?"),
        (CURVE + "[text]\ndelimiter = 'x'\n", 6, "write one of tab, ;"),
        (CURVE + "[fields.irradiance]\nkey = 'G'\n", 5, "'irradiance' is not a key"),
        (CURVE + "[fields.poa_global]\nunit = 'W/m2'\n", 5, "needs one of key"),
        ("recipe = 2\n", 1, "newer version"),
        ("paths = ['x(?P<string>(a+)+)']\nrecipe = 1\n", 1, "repeats a repeat"),
        ("paths = ['(?P<strang>a)']\nrecipe = 1\n", 1, "has a group 'strang'"),
        ("paths = ['(a']\nrecipe = 1\n", 1, "is wrong"),
        ("paths = ['S1']\nrecipe = 1\n", 1, "no named group"),
    ],
)
def test_errors_of_a_recipe_name_the_line(text, line, says):
    with pytest.raises(RecipeError) as caught:
        parse_recipe(text, "r.toml")
    assert str(caught.value).startswith(f"r.toml, line {line}: ")
    assert says in str(caught.value)


def test_named_groups_in_the_path():
    patterns = (r"/(?P<combiner>CB\d+)/", r"(?P<date>\d{8})-(?P<time>\d{6})", r"(?P<string>S\d+)")
    assert path_fields("visit/CB3/S12 20240517-101530.csv", patterns) == {
        "combiner": "CB3",
        "string": "S12",
        "measured_at": "20240517 101530",
    }


def test_a_date_and_time_in_the_path_become_the_time_of_measurement():
    recipe = Recipe(paths=(r"(?P<date>\d{8})-(?P<time>\d{6})",))
    trace = only_trace(read("V;I\n" + lines("{v};{i}"), "20240517-101530.csv", recipe))
    assert f"{trace.measured_at}" == "2024-05-17 10:15:30"

"""Scenarios from TOML files: one fault a file, its key the file's name."""

import tomllib
from functools import cache
from pathlib import Path
from typing import Any

from viewer.physics.cell_string.effects import EFFECTS, PLACES
from viewer.physics.cell_string.scenario import (
    Effect,
    FromKnob,
    Knob,
    Scenario,
    TellingApart,
    Value,
)
from viewer.site_data.resource_folder import resource_folder
from viewer.site_data.toml_lines import Place, key_lines
from viewer.site_data.toml_table import Findings, Table

TOP_KEYS = (
    "name",
    "cause",
    "summary",
    "reasons",
    "severity",
    "extent",
    "effect",
    "telling_apart",
)
KNOB_KEYS = ("label", "unit", "lowest", "highest", "start", "logarithmic", "whole")
LOOKS = ("moves_with_sun", "vanishes_when_cleaned", "infrared", "module_retest")
SETTINGS = ("severity", "extent")
ORDER = (
    "healthy",
    "uniform_soiling",
    "soiling_wedge",
    "hard_shade",
    "soft_shade",
    "moving_shade",
    "dead_cell",
    "hot_cell",
    "shorted_bypass",
    "open_bypass",
    "missing_module",
    "other_module_type",
    "corroded_connector",
    "potential_induced",
    "ageing",
    "wrong_irradiance_reading",
    "wrong_temperature_reading",
)
"""The order in which the scenarios that come with the program are listed; others follow."""


class ScenarioError(ValueError):
    """A scenario file that cannot be used, with a sentence for each thing to mend."""


@cache
def scenarios() -> dict[str, Scenario]:
    """The scenarios that come with the program, by key, in the order they are listed."""
    paths = {path.stem: path for path in (resource_folder() / "scenarios").glob("*.toml")}
    first = [key for key in ORDER if key in paths]
    rest = sorted(set(paths) - set(first))
    return {key: read_scenario(paths[key]) for key in (*first, *rest)}


def scenario_named(key: str) -> Scenario:
    """The scenario of that key. Raises ScenarioError with the known keys for another."""
    known = scenarios()
    if key not in known:
        raise ScenarioError(f"there is no scenario {key}; known are {', '.join(known)}")
    return known[key]


def read_scenario(path: Path) -> Scenario:
    """A scenario from a file. Raises ScenarioError with where it is wrong and how to mend it."""
    try:
        text = path.read_text(encoding="utf-8")
    except OSError as error:
        raise ScenarioError(f"{path.name} cannot be read: {error.strerror}.") from error
    except UnicodeDecodeError as error:
        raise ScenarioError(f"{path.name} cannot be read: it is no UTF-8 text.") from error
    try:
        data = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise ScenarioError(f"{path.name} is not valid TOML: {error}") from error
    findings = Findings(path.name, key_lines(text))
    scenario = _scenario(path.stem, data, findings)
    if findings.problems:
        raise ScenarioError(" ".join(findings.problems))
    return scenario


def _scenario(key: str, data: dict[str, Any], findings: Findings) -> Scenario:
    table = Table(data, (), "the scenario", findings)
    table.check_keys(TOP_KEYS)
    extent = _knob(data["extent"], "extent", findings) if "extent" in data else None
    rows = table.rows("effect")
    if not rows:
        findings.problem((), "a scenario has at least one [[effect]].")
    return Scenario(
        key,
        table.text("name"),
        table.text("cause"),
        table.text("summary"),
        _knob(data.get("severity"), "severity", findings),
        tuple(_effect(row, n, extent, findings) for n, row in enumerate(rows)),
        extent,
        _telling_apart(data.get("telling_apart", {}), findings),
        _sentences(data.get("reasons", []), findings),
    )


def _knob(data: object, name: str, findings: Findings) -> Knob:
    table = Table(data, (name,), name, findings)
    table.check_keys(KNOB_KEYS)
    knob = Knob(
        table.text("label"),
        table.text("unit", ""),
        table.number("lowest", ""),
        table.number("highest", ""),
        table.number("start", ""),
        table.flag("logarithmic"),
        table.flag("whole"),
    )
    if table.complete and not knob.lowest <= knob.start <= knob.highest:
        findings.problem((name, "start"), f"start of {name} lies between lowest and highest.")
    if table.complete and knob.logarithmic and knob.lowest <= 0:
        findings.problem((name, "lowest"), f"lowest of {name} is above 0 where it is logarithmic.")
    return knob


def _effect(row: object, number: int, extent: Knob | None, findings: Findings) -> Effect:
    place: Place = ("effect", number)
    table = Table(row, place, f"effect {number + 1}", findings)
    kind = table.text("kind")
    if kind and kind not in EFFECTS:
        findings.problem((*place, "kind"), f"'{kind}' is no effect; known: {', '.join(EFFECTS)}.")
    if kind not in EFFECTS:
        return Effect(kind)
    known = EFFECTS[kind]
    table.check_keys(("kind", *known.needed, *known.optional))
    for name in known.needed:
        if name not in table:
            findings.problem(place, f"effect '{kind}' needs a line {name} = ...")
    values = {
        name: _value(value, (*place, name), extent, findings)
        for name, value in table.data.items()
        if name != "kind"
    }
    return Effect(kind, values)


def _value(value: object, place: Place, extent: Knob | None, findings: Findings) -> Value:
    """A number, true, a place, or what comes from a knob: "severity" or { severity = 0.5 }."""
    name = place[-1]
    if isinstance(value, bool | int | float):
        return float(value)
    if name == "at" and value in PLACES:
        return str(value)
    setting, times = value, 1.0
    if isinstance(value, dict) and len(value) == 1:
        setting, factor = next(iter(value.items()))
        times = float(factor) if isinstance(factor, int | float) else 0.0
    if name != "at" and setting in SETTINGS and (setting == "severity" or extent is not None):
        return FromKnob("severity" if setting == "severity" else "extent", times)
    meant = ", ".join(PLACES) if name == "at" else 'a number, "severity" or { severity = 0.5 }'
    findings.problem(place, f"{name} is {value!r}; write {meant}.")
    return 0.0


def _telling_apart(data: object, findings: Findings) -> TellingApart:
    table = Table(data, ("telling_apart",), "telling_apart", findings)
    table.check_keys(LOOKS)
    return TellingApart(*(table.text(name, "") for name in LOOKS))


def _sentences(data: object, findings: Findings) -> tuple[str, ...]:
    if not isinstance(data, list) or not all(isinstance(one, str) for one in data):
        findings.problem(("reasons",), "reasons is a list of sentences in quotes.")
        return ()
    return tuple(data)

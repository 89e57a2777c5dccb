"""`curvewright simulate`: a scenario as a visit folder, for exercises and for trying things."""

import argparse
import sys
from dataclasses import replace
from datetime import datetime
from pathlib import Path

from viewer.analysis.lesson.simulated_visit import VisitPlan
from viewer.app.commands.argument_types import MOST_MODULES, number, whole
from viewer.app.commands.complaints import complain, sentence
from viewer.physics.cell_string.cells import groups_that_divide
from viewer.physics.cell_string.scenario import Knob, Scenario
from viewer.physics.cell_string.simulate import held_settings
from viewer.physics.nomenclature import counted
from viewer.site_data.datasheet import Datasheet
from viewer.site_data.lesson_site import lesson_site
from viewer.site_data.module_library import UnknownModuleError, module_named
from viewer.site_data.scenario_file import ScenarioError, read_scenario, scenario_named, scenarios
from viewer.state.lesson.lesson_visit import write_visit

WHOLE_NUMBERS: tuple[tuple[str, int, int], ...] = (
    ("modules", 1, MOST_MODULES),
    ("points", 10, 10_000),
    ("seed", 0, 2**63),
    ("beside", 0, 1_000),
)
"""Options, their least and their most: a thousand strings beside it take half a minute."""


def add_arguments(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "scenario", nargs="?", metavar="SCENARIO", help="its name, or a TOML file that holds one"
    )
    parser.add_argument("--out", metavar="FOLDER", help="a new or empty folder for the visit")
    parser.add_argument("--list", action="store_true", help="name all scenarios and their ranges")
    parser.add_argument(
        "--severity", type=number(), help="how bad; the scenario's start if left out"
    )
    parser.add_argument(
        "--extent", type=number(), help="how many groups, modules or rows it reaches"
    )
    parser.add_argument("--irradiance", type=number(), default=900.0, help="W/m² (900)")
    parser.add_argument("--cell-temperature", type=number(), default=50.0, help="°C (50)")
    parser.add_argument(
        "--module",
        default="LESSON-HC",
        help="LESSON-HC, LESSON-FC (both invented) or a name in pvlib's CEC list",
    )
    parser.add_argument("--modules", type=whole, default=24, help="modules in series (24)")
    parser.add_argument("--beside", type=whole, default=0, help="healthy strings beside it (0)")
    parser.add_argument("--points", type=whole, default=120, help="points a trace (120)")
    parser.add_argument("--seed", type=whole, default=1, help="draws modules and noise (1)")
    parser.add_argument("--no-noise", action="store_true", help="equal modules, exact readings")
    parser.add_argument(
        "--measured-at", default="2025-06-21T12:00:00", help="time of the first trace"
    )
    parser.add_argument("--hide", action="store_true", help="leave the scenario out of the notes")


def run(arguments: argparse.Namespace) -> int:
    if arguments.list:
        for scenario in scenarios().values():
            _print_scenario(scenario)
        return 0
    try:
        scenario = _scenario(arguments.scenario)
        plan = _plan(arguments)
        folder = _folder(arguments.out)
        start = scenario.severity.start if arguments.severity is None else arguments.severity
        severity, extent = held_settings(scenario, start, arguments.extent)
        written = write_visit(folder, scenario, severity, extent, plan)
    except (ScenarioError, UnknownModuleError, ValueError, OSError) as error:
        complain("simulate", sentence(error))
        return 2
    _print_done(arguments, scenario, severity, extent, folder, written)
    return 0


def _scenario(word: str | None) -> Scenario:
    if word is None:
        raise ScenarioError("name a scenario; curvewright simulate --list names them all")
    if word.endswith(".toml"):
        return read_scenario(Path(word))
    return scenario_named(word)


def _plan(arguments: argparse.Namespace) -> VisitPlan:
    for name, least, most in WHOLE_NUMBERS:
        given = getattr(arguments, name)
        if not least <= given <= most:
            raise ValueError(f"--{name} lies from {least:,} to {most:,}, not {given}")
    if not 0 < arguments.irradiance < 2000:
        raise ValueError(f"--irradiance lies between 0 and 2000 W/m², not {arguments.irradiance}")
    if not -60 < arguments.cell_temperature < 120:
        raise ValueError(
            f"--cell-temperature lies between -60 and 120 °C, not {arguments.cell_temperature}"
        )
    try:
        measured_at = datetime.fromisoformat(arguments.measured_at)
    except ValueError:
        raise ValueError(
            f"--measured-at is '{arguments.measured_at}', not a time such as 2025-06-21T12:00:00"
        ) from None
    return VisitPlan(
        _datasheet(arguments.module),
        arguments.modules,
        arguments.irradiance,
        arguments.cell_temperature,
        arguments.beside,
        arguments.seed,
        not arguments.no_noise,
        arguments.points,
        measured_at=measured_at,
        name_fault=not arguments.hide,
    )


def _datasheet(name: str) -> Datasheet:
    ours = lesson_site().modules
    if name in ours:
        return ours[name]
    sheet = module_named(name).datasheet
    groups = groups_that_divide(sheet.cells_in_series, sheet.bypass_diodes)
    if groups != sheet.bypass_diodes:
        print(
            f"{sheet.cells_in_series} cells do not divide into {sheet.bypass_diodes} groups: "
            f"simulated with {groups}.",
            file=sys.stderr,
        )
    return replace(sheet, bypass_diodes=groups)


def _folder(out: str | None) -> Path:
    if not out:
        raise ValueError("name the folder to write with --out FOLDER")
    return Path(out)


def _print_scenario(scenario: Scenario) -> None:
    print(f"{scenario.key:<26} {scenario.name}")
    for option, knob in (("--severity", scenario.severity), ("--extent", scenario.extent)):
        if knob is not None:
            print(f"    {option:<10} {_range(knob)}")


def _range(knob: Knob) -> str:
    unit = f" {knob.unit}" if knob.unit else ""
    return f"{knob.label}: {knob.lowest:g} to {knob.highest:g}{unit} ({knob.start:g})"


def _print_done(
    arguments: argparse.Namespace,
    scenario: Scenario,
    severity: float,
    extent: float | None,
    folder: Path,
    written: list[str],
) -> None:
    reach = f", extent {extent:g}" if extent is not None else ""
    print(
        f"{counted(len(written), 'simulated trace')} in {folder}; {written[-1]} holds the scenario:"
    )
    print(f"{scenario.name}, severity {severity:g}{reach}. {scenario.summary}")
    for option, knob, held in (
        ("--severity", scenario.severity, severity),
        ("--extent", scenario.extent, extent),
    ):
        asked = arguments.severity if option == "--severity" else arguments.extent
        if asked is not None and knob is None:
            print(f"{option} was left out: this scenario has no extent.", file=sys.stderr)
        elif asked is not None and held != asked:
            print(f"{option} {asked:g} was brought to {held:g}.", file=sys.stderr)

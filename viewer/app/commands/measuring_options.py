"""Ratings of instruments and equipment by option or from a settings file; an option wins."""

import argparse
from dataclasses import dataclass
from pathlib import Path

from viewer.analysis.before_visit.electrical_limits import RATING_CLASSES, MeasuringSet
from viewer.app.commands.argument_types import rating, temperature
from viewer.state.program.settings import settings_of_file

UNNAMED = "the measuring set"


@dataclass(frozen=True)
class Ratings:
    """`lowest` [°C] and `equipment` [V] None where nothing tells them; `said`: from which file."""

    measuring_set: MeasuringSet | None
    lowest: float | None
    equipment: float | None
    said: str = ""


def add_ratings(parser: argparse.ArgumentParser) -> None:
    """Shared by `curvewright limits` and `curvewright sheet`."""
    add = parser.add_argument
    add(
        "--lowest",
        type=temperature,
        metavar="DEGREES",
        help="lowest temperature on record there, °C",
    )
    add(
        "--equipment",
        type=rating,
        metavar="VOLTS",
        help=f"voltage rating of the equipment, usually {_classes()}",
    )
    add("--meter-volts", type=rating, help="voltage rating of the measuring set")
    add("--meter-amps", type=rating, help="current rating of the measuring set")
    add("--meter-category", help="its category, such as CAT III")
    add("--meter-name", help="what it is called")
    add(
        "--settings",
        type=Path,
        metavar="FILE",
        help="ratings and lowest temperature from settings that the window exported (TOML), where "
        "no option gives them",
    )


def _classes() -> str:
    *first, last = (f"{volts:.0f}" for volts in RATING_CLASSES)
    return f"{', '.join(first)} or {last}"


def ratings(arguments: argparse.Namespace) -> Ratings:
    """What the options and the file say. Raises ValueError with one sentence."""
    given = arguments
    volts, amps = given.meter_volts, given.meter_amps
    category, name = given.meter_category, given.meter_name
    lowest, equipment, said = given.lowest, given.equipment, ""
    if given.settings is not None:
        kept = settings_of_file(given.settings)
        volts = kept.meter_volts or None if volts is None else volts
        amps = kept.meter_amps or None if amps is None else amps
        category = kept.meter_category if category is None else category
        name = f"{UNNAMED} {kept.meter_name}".rstrip() if name is None else name
        lowest = kept.lowest_temperature if lowest is None else lowest
        equipment = kept.equipment_volts if equipment is None else equipment
    name = name or UNNAMED
    if given.settings is not None:
        said = (
            f"With the settings of {given.settings.name}: lowest temperature {lowest:g} °C, "
            f"equipment {equipment:g} V, {_meter_words(name, volts, amps, category)}."
        )
    if volts is None and amps is None:
        return Ratings(None, lowest, equipment, said)
    missing = float("inf")
    meter = MeasuringSet(
        name,
        missing if volts is None else volts,
        missing if amps is None else amps,
        category or "",
    )
    return Ratings(meter, lowest, equipment, said)


def _meter_words(name: str, volts: float | None, amps: float | None, category: str | None) -> str:
    known = [f"{value:g} {unit}" for value, unit in ((volts, "V"), (amps, "A")) if value]
    known += [category] if category else []
    return f"{name} {', '.join(known) or 'without ratings'}"

"""Thresholds and uncertainties as settings: their words, limits and place in the settings file."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from types import MappingProxyType
from typing import Any

from viewer.analysis.conditions.condition_thresholds import SOURCES as THRESHOLD_SOURCES
from viewer.analysis.conditions.condition_thresholds import ConditionThresholds
from viewer.physics.uncertainty.uncertainty import SOURCES as UNCERTAINTY_SOURCES
from viewer.physics.uncertainty.uncertainty import InputUncertainties
from viewer.site_data.text_catalogue import texts

OFF = "off"
"""Stands in the settings file for a check that is switched off."""

Record = ConditionThresholds | InputUncertainties


@dataclass(frozen=True)
class Assumption:
    """One number that people may edit; `scale` turns the stored value into the shown one."""

    name: str
    title: str
    unit: str
    least: float
    most: float
    source: str
    scale: float = 1.0
    may_be_off: bool = False


def _threshold(
    name: str, title: str, unit: str, least: float, most: float, scale: float = 1.0
) -> Assumption:
    return Assumption(name, title, unit, least, most, THRESHOLD_SOURCES[name], scale, True)


def _uncertainty(name: str, unit: str = "%", most: float = 0.2) -> Assumption:
    scale = 100.0 if unit == "%" else 1.0
    title = texts()["inputs"][name]
    return Assumption(name, title, unit, 0.0, most, UNCERTAINTY_SOURCES[name], scale)


THRESHOLDS: tuple[Assumption, ...] = (
    _threshold("irradiance_for_power", "Irradiance for a statement on power", "W/m²", 0, 1200),
    _threshold("irradiance_for_comparison", "Irradiance for a comparison", "W/m²", 0, 1200),
    _threshold("irradiance_drift", "Drift of irradiance during a sweep", "%", 0.0, 0.5, 100.0),
    _threshold("incidence_angle", "Angle of incidence", "°", 0, 90),
    _threshold("wind_speed", "Wind", "m/s", 0, 40),
    _threshold("temperature_difference", "Temperature by sensor against Voc", "K", 0, 40),
    _threshold("irradiance_difference", "Irradiance by sensor against Isc", "%", 0.0, 0.5, 100.0),
    _threshold("irradiance_highest", "Highest believable irradiance", "W/m²", 500, 2500),
    _threshold("temperature_lowest", "Lowest believable temperature", "°C", -80, 40),
    _threshold("temperature_highest", "Highest believable temperature", "°C", 20, 150),
)

UNCERTAINTIES: tuple[Assumption, ...] = (
    _uncertainty("irradiance"),
    _uncertainty("irradiance_by_reference_cell"),
    _uncertainty("irradiance_by_isc"),
    _uncertainty("temperature_cell", "K", 20.0),
    _uncertainty("temperature_by_air", "K", 20.0),
    _uncertainty("temperature_by_voc", "K", 20.0),
    _uncertainty("datasheet_current"),
    _uncertainty("datasheet_voltage"),
    _uncertainty("datasheet_fill_factor"),
    _uncertainty("spread_current"),
    _uncertainty("spread_voltage"),
    _uncertainty("spread_fill_factor"),
    _uncertainty("model"),
    _uncertainty("model_thin_film"),
    _uncertainty("voltage"),
    _uncertainty("current"),
    _uncertainty("alpha_sc", most=2.0),
    _uncertainty("beta_voc", most=2.0),
    _uncertainty("internal_resistance", most=2.0),
    _uncertainty("kappa", most=2.0),
    _uncertainty("procedure"),
    _uncertainty("procedure_thin_film"),
)

GROUPS: Mapping[str, tuple[Assumption, ...]] = MappingProxyType(
    {"thresholds": THRESHOLDS, "uncertainties": UNCERTAINTIES}
)
"""By the name of the field of Settings that holds the record."""


def as_table(group: str, record: Record) -> dict[str, Any]:
    """What differs from the defaults, as it stands in the settings file."""
    usual = type(record)()
    values = {one.name: getattr(record, one.name) for one in GROUPS[group]}
    return {
        name: OFF if value is None else value
        for name, value in values.items()
        if value != getattr(usual, name)
    }


def from_table(group: str, usual: Record, table: Mapping[str, Any]) -> tuple[Record, list[str]]:
    """The record that a table of the settings file describes, and what was left out and why."""
    known = {one.name: one for one in GROUPS[group]}
    used: dict[str, float | None] = {}
    problems: list[str] = []
    for name, value in table.items():
        if name not in known:
            problems.append(f"The setting {group}.{name} is not known and was left out.")
        elif value == OFF and known[name].may_be_off:
            used[name] = None
        elif _within(value, known[name]):
            used[name] = float(value)
        else:
            problems.append(_refusal(group, known[name], value))
    changed: dict[str, Any] = dict(used)
    return replace(usual, **changed), problems


def _within(value: Any, one: Assumption) -> bool:
    number = isinstance(value, int | float) and not isinstance(value, bool)
    return number and one.least <= value <= one.most


def _refusal(group: str, one: Assumption, value: Any) -> str:
    off = f', or be "{OFF}"' if one.may_be_off else ""
    return (
        f"The setting {group}.{one.name} must lie from {one.least:g} to {one.most:g}{off}, "
        f"not at {value!r}."
    )

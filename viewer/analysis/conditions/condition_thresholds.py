"""Thresholds of the test-condition checks, each with its source in words; all can be edited."""

from dataclasses import dataclass, fields
from types import MappingProxyType

NO_SOURCE = "common practice, no source"


@dataclass(frozen=True)
class ConditionThresholds:
    """Limits that a trace's conditions are held against; None switches a check off.

    Irradiances [W/m²], angles [degrees], wind [m/s], temperatures [°C] and differences [K];
    drift and the difference of irradiances as fractions.
    """

    irradiance_for_power: float | None = 700.0
    irradiance_for_comparison: float | None = 400.0
    irradiance_drift: float | None = 0.02
    incidence_angle: float | None = 45.0
    wind_speed: float | None = 8.0
    temperature_difference: float | None = 5.0
    irradiance_difference: float | None = 0.05
    irradiance_highest: float | None = 1600.0
    temperature_lowest: float | None = -40.0
    temperature_highest: float | None = 100.0


SOURCES: MappingProxyType[str, str] = MappingProxyType(
    {
        "irradiance_for_power": "IEC 61829, from memory",
        "irradiance_for_comparison": "IEC 62446-1, from memory",
        "irradiance_drift": NO_SOURCE,
        "incidence_angle": NO_SOURCE,
        "wind_speed": NO_SOURCE,
        "temperature_difference": NO_SOURCE,
        "irradiance_difference": NO_SOURCE,
        "irradiance_highest": "more than the sun with cloud enhancement gives; " + NO_SOURCE,
        "temperature_lowest": "IEC 61215 cycles modules from this temperature, from memory",
        "temperature_highest": NO_SOURCE,
    }
)

THRESHOLD_NAMES: tuple[str, ...] = tuple(field.name for field in fields(ConditionThresholds))

"""Readings that cannot be are set aside before anything is computed with them.

The limits are far outside what the test-condition checks complain of: they catch another
unit (kelvin, kW/m²), a broken sensor or a slip of the keyboard, not a poor test.
"""

import math
from dataclasses import dataclass, fields, replace
from types import MappingProxyType

from viewer.physics.nomenclature import quantity
from viewer.site_data.iv_trace import MeasuredConditions

IRRADIANCE = (5.0, 2500.0)
"""W/m²; a reading such as 0.85 is in kW/m², none above 2500 is sunlight."""

TEMPERATURE = (-60.0, 150.0)
"""°C; a reading such as 323 is in kelvin."""

POSSIBLE: MappingProxyType[str, tuple[float, float]] = MappingProxyType(
    {
        "poa_global": IRRADIANCE,
        "poa_global_end": IRRADIANCE,
        "poa_rear": (0.0, 1500.0),
        "temperature_module": TEMPERATURE,
        "temperature_cell": TEMPERATURE,
        "temperature_air": (-60.0, 65.0),
        "wind_speed": (0.0, 80.0),
        "reference_cell": IRRADIANCE,
        "temperature_reference_cell": TEMPERATURE,
    }
)


@dataclass(frozen=True)
class Readings:
    """The readings that can be, and one sentence for each that was set aside."""

    read: MeasuredConditions
    set_aside: tuple[str, ...] = ()


def possible_readings(read: MeasuredConditions) -> Readings:
    """Without the readings that cannot be; values that are no finite number just go."""
    dropped: dict[str, None] = {}
    said = []
    for name in (field.name for field in fields(read)):
        value = getattr(read, name)
        if value is None or name not in POSSIBLE:
            continue
        low, high = POSSIBLE[name]
        if math.isfinite(value) and low <= value <= high:
            continue
        dropped[name] = None
        if math.isfinite(value):
            said.append(_sentence(name, value, low, high))
    return Readings(replace(read, **dropped) if dropped else read, tuple(said))


def _sentence(name: str, value: float, low: float, high: float) -> str:
    unit = quantity(name).unit
    hint = ""
    if unit == "W/m²" and 0.0 < value < 3.0:
        hint = " (a value in kW/m²?)"
    elif unit == "°C" and low + 273.15 <= value <= high + 273.15:
        hint = " (a value in kelvin?)"
    return (
        f"{name} of {value:g} {unit}{hint} was set aside: it cannot lie outside "
        f"{low:g} to {high:g} {unit}"
    )

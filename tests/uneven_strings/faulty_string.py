"""Draws one planned string with its faults, its reading errors and its sweep."""

from dataclasses import dataclass, field
from typing import Any

import numpy as np

from tests.uneven_strings.faults import FAULTS, LIMITING
from tests.uneven_strings.instrument import Sweep, record
from tests.uneven_strings.module_types import ModuleType
from tests.uneven_strings.plan import PlannedString
from tests.uneven_strings.uneven_string import StringCurve, UnevenString

ATTEMPTS = 60
LEAST_LOSS = 0.018
LEAST_LOSS_OF_GROUPS = 0.011
"""A single group of a long string costs little of its power and yet is seen."""
OF_GROUPS = ("bypass_short", *LIMITING)
LARGE_MODULE, MOST_LARGE_MODULES = 96, 16
"""Modules of so many cells reach the system's voltage with so few of them; judgement."""
BACK_COOLER = 3.0
"""Cells above the back of the module at 1000 W/m² [K]: open rack, glass and polymer; D. L. King
et al., SAND2004-3535, table 1."""


@dataclass
class FaultyString:
    """A string after its faults, and by how much its conditions were read wrong."""

    string: UnevenString
    irradiance_error: float
    """Share by which the irradiance was read too high."""
    temperature_error: float
    """Kelvin by which the cell temperature was read too high."""
    attempts: int
    details: dict[str, dict[str, Any]] = field(default_factory=dict)
    power_lost_by: dict[str, float] = field(default_factory=dict)
    power_lost: float = 0.0

    @property
    def shows(self) -> bool:
        """Whether every fault costs enough to be called one."""
        return all(
            lost >= (LEAST_LOSS_OF_GROUPS if cause in OF_GROUPS else LEAST_LOSS)
            for cause, lost in self.power_lost_by.items()
        )


@dataclass(frozen=True)
class Measured:
    """A faulty string with its true curve, its sweep and its conditions as read."""

    faulty: FaultyString
    curve: StringCurve
    sweep: Sweep
    poa_global: float
    temperature: float
    """°C as written in the file, of the cells or of the back."""
    at_back: bool


def measured_string(
    planned: PlannedString, types: list[ModuleType], rng: np.random.Generator
) -> Measured:
    """The planned string, drawn again until each of its faults shows."""
    for attempt in range(ATTEMPTS):
        faulty = faulty_string(planned, sound_string(planned, types, rng), attempt)
        if faulty.shows:
            break
    string = faulty.string
    curve = string.curve()
    sweep = record(curve.curve, planned.circumstances, rng)
    at_back = bool(rng.random() < planned.circumstances.read_at_back)
    temperature = string.temperature + faulty.temperature_error
    if at_back:
        temperature += rng.normal(0, 0.4) - BACK_COOLER * string.irradiance / 1000
    poa_global = string.irradiance * (1 + faulty.irradiance_error)
    return Measured(faulty, curve, sweep, poa_global, temperature, at_back)


def sound_string(
    planned: PlannedString, types: list[ModuleType], rng: np.random.Generator
) -> UnevenString:
    about = planned.circumstances
    suitable = [one for one in types if one.technology in about.technologies]
    module = suitable[rng.integers(len(suitable))]
    least, most = about.modules
    if "module_mismatch" in planned.causes:
        least = max(least, min(8, most))
    limited = not set(planned.causes).isdisjoint(LIMITING)
    if "module_missing" in planned.causes or (limited and len(planned.causes) > 1):
        least = max(least, 2)
    count = int(rng.integers(least, most + 1))
    if module.cells_in_series >= LARGE_MODULE:
        count = min(count, MOST_LARGE_MODULES)
    irradiance = rng.uniform(*about.irradiance)
    low, high = about.temperature
    if not about.any_temperature:  # Air between -10 and 35 °C warms with the sun on the module.
        low = max(low, -10 + 25 * irradiance / 1000)
        high = min(high, 35 + 40 * irradiance / 1000)
    temperature = rng.uniform(low, high)
    return UnevenString(module, count, irradiance, temperature, about, rng)


def faulty_string(planned: PlannedString, string: UnevenString, attempt: int) -> FaultyString:
    rng = string.rng
    sound = string.curve().curve.p_mp
    faulty = FaultyString(
        string=string,
        irradiance_error=rng.normal(0, rng.uniform(0.015, 0.02)),
        temperature_error=rng.normal(0, 1.0),
        attempts=attempt + 1,
    )
    for cause in sorted(planned.causes, key=lambda cause: cause in LIMITING):
        if cause == "irradiance_input":
            faulty.irradiance_error = float(rng.uniform(0.055, 0.15) * rng.choice([-1, 1]))
        elif cause == "temperature_input":
            faulty.temperature_error = float(rng.uniform(8, 20) * rng.choice([-1, 1]))
        elif cause != "none":
            before = string.curve().curve.p_mp
            faulty.details[cause] = FAULTS[cause](string, min(1.0, attempt * 0.15))
            faulty.power_lost_by[cause] = 1 - string.curve().curve.p_mp / before
    faulty.power_lost = 1 - string.curve().curve.p_mp / sound
    return faulty

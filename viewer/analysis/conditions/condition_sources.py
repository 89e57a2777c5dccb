"""Which reading gives a trace's irradiance and cell temperature, by a stated precedence.

Irradiance: the sensor in the plane of the array; else a reference cell's reading corrected
with its temperature; else, only when the rules allow it, the string's own Isc.
Cell temperature: a cell reading; else the module's back; else air temperature and wind; else
the equivalent cell temperature from Voc (IEC 60904-5). Nothing is assumed for a reading that
was not taken: what cannot be known is None and the words say what is missing.
"""

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import TypeGuard

from viewer.physics import cell_temperature, effective_irradiance
from viewer.physics.conditions import BACK_TO_CELL_AT_1000, cell_from_module_temperature
from viewer.physics.datasheet.module_model import ModuleModel
from viewer.site_data.datasheet import Datasheet
from viewer.site_data.iv_trace import MeasuredConditions
from viewer.site_data.site_layout import StringLayout

IRRADIANCE_SOURCES: tuple[str, ...] = ("sensor", "reference cell", "isc")
TEMPERATURE_SOURCES: tuple[str, ...] = ("cell", "module", "air and wind", "voc")


@dataclass(frozen=True)
class ConditionRules:
    """How readings become conditions; the defaults are the precedence described above.

    irradiance_order, temperature_order: sources tried in turn (of IRRADIANCE_SOURCES and
    TEMPERATURE_SOURCES). "isc" is left out by default: with it the comparison can no longer
    see lost current. back_to_cell_at_1000 [K]; air_model and air_mounting as in
    `cell_temperature.from_air_and_wind`; reference_cell_alpha [1/K] of the reference cell.
    """

    irradiance_order: tuple[str, ...] = ("sensor", "reference cell")
    temperature_order: tuple[str, ...] = TEMPERATURE_SOURCES
    back_to_cell_at_1000: float = BACK_TO_CELL_AT_1000
    air_model: str = "sandia"
    air_mounting: str = "open_rack_glass_polymer"
    reference_cell_alpha: float = 0.0005


@dataclass(frozen=True)
class Device:
    """What was traced: its datasheet, how many of it, and its fitted model if there is one."""

    datasheet: Datasheet
    modules_in_series: int = 1
    strings_in_parallel: int = 1
    model: ModuleModel | None = None

    @classmethod
    def of(
        cls, string: StringLayout | None, datasheet: Datasheet | None, model: ModuleModel | None
    ) -> "Device | None":
        if string is None or datasheet is None:
            return None
        return cls(datasheet, string.modules_in_series, string.strings_in_parallel, model)


@dataclass(frozen=True)
class Found:
    """One condition and where it comes from; None with the reason when it is not known."""

    value: float | None
    words: str
    source: str = ""


def known(value: float | None) -> TypeGuard[float]:
    """Whether a finite number was recorded."""
    return value is not None and math.isfinite(value)


def irradiance(read: MeasuredConditions, from_isc: float | None, rules: ConditionRules) -> Found:
    """Front irradiance in the plane of the array [W/m²]; `from_isc` is what Isc stands for."""
    for source in rules.irradiance_order:
        found = _IRRADIANCE[source](read, from_isc, rules)
        if found is not None:
            return found
    if known(read.reference_cell) and "reference cell" in rules.irradiance_order:
        return Found(
            None,
            "a reference cell's reading was recorded without its temperature "
            "(temperature_reference_cell)",
        )
    return Found(None, "no irradiance was recorded (poa_global)")


def _by_sensor(
    read: MeasuredConditions, from_isc: float | None, rules: ConditionRules
) -> Found | None:
    if not known(read.poa_global) or read.poa_global <= 0.0:
        return None
    if known(read.poa_global_end) and read.poa_global_end > 0.0:
        mean = 0.5 * (read.poa_global + read.poa_global_end)
        words = "irradiance sensor, mean of its readings before and after the sweep"
        return Found(mean, words, "sensor")
    return Found(read.poa_global, "irradiance sensor in the plane of the array", "sensor")


def _by_reference_cell(
    read: MeasuredConditions, from_isc: float | None, rules: ConditionRules
) -> Found | None:
    if not (known(read.reference_cell) and known(read.temperature_reference_cell)):
        return None
    if read.reference_cell <= 0.0:
        return None
    value = effective_irradiance.from_reference_cell(
        read.reference_cell, read.temperature_reference_cell, rules.reference_cell_alpha
    )
    words = (
        f"reference cell, corrected for its {read.temperature_reference_cell:.1f} °C with "
        f"{100 * rules.reference_cell_alpha:.3f} %/K; no irradiance sensor was read"
    )
    return Found(float(value), words, "reference cell")


def _by_isc(
    read: MeasuredConditions, from_isc: float | None, rules: ConditionRules
) -> Found | None:
    if from_isc is None:
        return None
    words = "the string's own Isc, for want of a reading; a loss of current cannot be seen"
    return Found(from_isc, words, "isc")


IrradianceSource = Callable[[MeasuredConditions, float | None, ConditionRules], Found | None]
_IRRADIANCE: dict[str, IrradianceSource] = {
    "sensor": _by_sensor,
    "reference cell": _by_reference_cell,
    "isc": _by_isc,
}


def with_rear(front: Found, read: MeasuredConditions, device: Device | None) -> Found:
    """Effective irradiance [W/m²]: the front's with the rear's share of a bifacial module.

    From Isc nothing is added: the current already holds the rear's light.
    """
    share = device.datasheet.bifaciality if device else 0.0
    if front.value is None or share <= 0.0 or front.source == "isc":
        return front
    if not known(read.poa_rear):
        words = (
            "; the module is bifacial but no rear irradiance was recorded (poa_rear), so light "
            "from behind shows as too much current"
        )
        return Found(front.value, front.words + words, front.source)
    value = float(effective_irradiance.of_bifacial(front.value, read.poa_rear, share))
    words = (
        f"; plus {share:.2f} of {read.poa_rear:.0f} W/m² on the rear (IEC TS 60904-1-2) makes "
        f"{value:.0f} W/m²"
    )
    return Found(value, front.words + words, front.source)


def rear_is_unknown(front: Found, read: MeasuredConditions, device: Device | None) -> bool:
    """Whether a bifacial module's irradiance lacks what came from behind."""
    if device is None or device.datasheet.bifaciality <= 0.0:
        return False
    return front.value is not None and front.source != "isc" and not known(read.poa_rear)


def temperature(
    read: MeasuredConditions,
    effective: float | None,
    from_voc: float | None,
    rules: ConditionRules,
) -> Found:
    """Cell temperature [°C]; all but a cell reading need the effective irradiance [W/m²]."""
    for source in rules.temperature_order:
        found = _TEMPERATURE[source](read, effective, from_voc, rules)
        if found is not None:
            return found
    return Found(None, _why_no_temperature(read, effective))


def _why_no_temperature(read: MeasuredConditions, effective: float | None) -> str:
    recorded = known(read.temperature_module) or known(read.temperature_air)
    if recorded and effective is None:
        return "the cell temperature cannot be found without irradiance"
    if known(read.temperature_air) and not known(read.wind_speed):
        return (
            "an air temperature was recorded without wind speed (wind_speed) and no module "
            "temperature was"
        )
    return "no temperature was recorded (temperature_module or temperature_cell)"


def _by_cell(
    read: MeasuredConditions, effective: float | None, from_voc: float | None, rules: ConditionRules
) -> Found | None:
    if not known(read.temperature_cell):
        return None
    return Found(read.temperature_cell, "cell temperature as recorded", "cell")


def _by_module(
    read: MeasuredConditions, effective: float | None, from_voc: float | None, rules: ConditionRules
) -> Found | None:
    if effective is None or not known(read.temperature_module):
        return None
    rise = rules.back_to_cell_at_1000
    value = cell_from_module_temperature(read.temperature_module, effective, rise)
    words = (
        f"module's back at {read.temperature_module:.1f} °C plus "
        f"{rise:g} K per 1000 W/m² (Sandia SAND2004-3535)"
    )
    return Found(float(value), words, "module")


def _by_air_and_wind(
    read: MeasuredConditions, effective: float | None, from_voc: float | None, rules: ConditionRules
) -> Found | None:
    if effective is None or not (known(read.temperature_air) and known(read.wind_speed)):
        return None
    value = cell_temperature.from_air_and_wind(
        effective, read.temperature_air, read.wind_speed, rules.air_model, rules.air_mounting
    )
    words = (
        f"air at {read.temperature_air:.1f} °C and wind of {read.wind_speed:.1f} m/s by the "
        f"{rules.air_model.capitalize()} model; no module temperature was read"
    )
    return Found(float(value), words, "air and wind")


def _by_voc(
    read: MeasuredConditions, effective: float | None, from_voc: float | None, rules: ConditionRules
) -> Found | None:
    if from_voc is None:
        return None
    words = (
        "equivalent cell temperature from the string's Voc (IEC 60904-5), for want of a "
        "reading; a loss of voltage cannot be seen"
    )
    return Found(from_voc, words, "voc")


TemperatureSource = Callable[
    [MeasuredConditions, float | None, float | None, ConditionRules], Found | None
]
_TEMPERATURE: dict[str, TemperatureSource] = {
    "cell": _by_cell,
    "module": _by_module,
    "air and wind": _by_air_and_wind,
    "voc": _by_voc,
}

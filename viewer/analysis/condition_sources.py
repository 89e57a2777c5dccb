"""Which reading gives a trace's irradiance and cell temperature, by a stated precedence.

Irradiance: the sensor in the plane of the array; else a reference cell's reading corrected
with its temperature; else, only when the rules allow it, the string's own Isc.
Cell temperature: a cell reading; else the module's back; else air temperature and wind; else
the equivalent cell temperature from Voc (IEC 60904-5). Nothing is assumed for a reading that
was not taken: what cannot be known is None and the words say what is missing.
"""

import math
from dataclasses import dataclass
from typing import TypeGuard

import numpy as np

from viewer.physics import cell_temperature, effective_irradiance
from viewer.physics.conditions import BACK_TO_CELL_AT_1000, cell_from_module_temperature
from viewer.physics.key_points import KeyPoints
from viewer.physics.module_model import ModuleModel
from viewer.physics.single_diode import open_circuit_voltage
from viewer.physics.technology import TECHNOLOGY_TABLE
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


def irradiance(
    read: MeasuredConditions,
    temperature: float | None,
    device: Device | None,
    measured: KeyPoints | None,
    rules: ConditionRules,
) -> Found:
    """Front irradiance in the plane of the array [W/m²]; `temperature` helps "isc" only."""
    for source in rules.irradiance_order:
        found = _irradiance_from(source, read, temperature, device, measured, rules)
        if found is not None:
            return found
    if known(read.reference_cell):
        return Found(
            None,
            "a reference cell's reading was recorded without its temperature "
            "(temperature_reference_cell)",
        )
    return Found(None, "no irradiance was recorded (poa_global)")


def _irradiance_from(
    source: str,
    read: MeasuredConditions,
    temperature: float | None,
    device: Device | None,
    measured: KeyPoints | None,
    rules: ConditionRules,
) -> Found | None:
    if source == "sensor" and known(read.poa_global) and read.poa_global > 0.0:
        if known(read.poa_global_end) and read.poa_global_end > 0.0:
            mean = 0.5 * (read.poa_global + read.poa_global_end)
            return Found(
                mean, "irradiance sensor, mean of its readings before and after the sweep", source
            )
        return Found(read.poa_global, "irradiance sensor in the plane of the array", source)
    if source == "reference cell" and known(read.reference_cell) and read.reference_cell > 0.0:
        if not known(read.temperature_reference_cell):
            return None
        value = effective_irradiance.from_reference_cell(
            read.reference_cell, read.temperature_reference_cell, rules.reference_cell_alpha
        )
        return Found(
            float(value),
            f"reference cell, corrected for its {read.temperature_reference_cell:.1f} °C with "
            f"{100 * rules.reference_cell_alpha:.3f} %/K; no irradiance sensor was read",
            source,
        )
    if source == "isc" and temperature is not None:
        from_isc = irradiance_of_isc(temperature, device, measured)
        if from_isc is not None:
            return Found(
                from_isc,
                "the string's own Isc, for want of a reading; a loss of current cannot be seen",
                source,
            )
    return None


def with_rear(front: float, read: MeasuredConditions, device: Device | None) -> tuple[float, str]:
    """Effective irradiance [W/m²] with the rear's share, and words about it ("" if none)."""
    share = device.datasheet.bifaciality if device else 0.0
    if share <= 0.0:
        return front, ""
    if not known(read.poa_rear):
        return front, (
            "; the module is bifacial but no rear irradiance was recorded (poa_rear), so light "
            "from behind shows as too much current"
        )
    value = float(effective_irradiance.of_bifacial(front, read.poa_rear, share))
    return value, (
        f"; plus {share:.2f} of {read.poa_rear:.0f} W/m² on the rear (IEC TS 60904-1-2) makes "
        f"{value:.0f} W/m²"
    )


def temperature(
    read: MeasuredConditions,
    effective: float | None,
    device: Device | None,
    measured: KeyPoints | None,
    rules: ConditionRules,
) -> Found:
    """Cell temperature [°C]; all but a cell reading need the effective irradiance [W/m²]."""
    for source in rules.temperature_order:
        found = _temperature_from(source, read, effective, device, measured, rules)
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


def _temperature_from(
    source: str,
    read: MeasuredConditions,
    effective: float | None,
    device: Device | None,
    measured: KeyPoints | None,
    rules: ConditionRules,
) -> Found | None:
    if source == "cell" and known(read.temperature_cell):
        return Found(read.temperature_cell, "cell temperature as recorded", source)
    if effective is None:
        return None
    if source == "module" and known(read.temperature_module):
        value = cell_from_module_temperature(
            read.temperature_module, effective, rules.back_to_cell_at_1000
        )
        return Found(
            float(value),
            f"module's back at {read.temperature_module:.1f} °C plus "
            f"{rules.back_to_cell_at_1000:g} K per 1000 W/m² (Sandia SAND2004-3535)",
            source,
        )
    if source == "air and wind" and known(read.temperature_air) and known(read.wind_speed):
        value = cell_temperature.from_air_and_wind(
            effective, read.temperature_air, read.wind_speed, rules.air_model, rules.air_mounting
        )
        return Found(
            float(value),
            f"air at {read.temperature_air:.1f} °C and wind of {read.wind_speed:.1f} m/s by the "
            f"{rules.air_model.capitalize()} model; no module temperature was read",
            source,
        )
    if source == "voc":
        from_voc = temperature_of_voc(effective, device, measured)
        if from_voc is not None:
            return Found(
                from_voc,
                "equivalent cell temperature from the string's Voc (IEC 60904-5), for want of a "
                "reading; a loss of voltage cannot be seen",
                source,
            )
    return None


def temperature_of_voc(
    effective: float | None, device: Device | None, measured: KeyPoints | None
) -> float | None:
    """Equivalent cell temperature [°C], by the module's model or else its datasheet.

    None where Voc, irradiance or the datasheet are missing or the result is no temperature
    that a module can have (below -60 °C or above 150 °C).
    """
    if effective is None or effective <= 0.0 or device is None or measured is None:
        return None
    v_oc = measured.v_oc / device.modules_in_series
    if not (math.isfinite(v_oc) and v_oc > 0.0):
        return None
    sheet = device.datasheet
    if device.model is not None:
        model = device.model
        found = cell_temperature.temperature_of_voc(
            v_oc, lambda t: open_circuit_voltage(model.operating(effective, t))
        )
    else:
        found = cell_temperature.equivalent_cell_temperature(
            v_oc,
            effective,
            sheet.v_oc,
            sheet.beta_voc / 100.0 * sheet.v_oc,
            sheet.cells_in_series,
            TECHNOLOGY_TABLE[sheet.technology].diode_factor,
        )
    value = float(np.squeeze(found))
    return value if -60.0 <= value <= 150.0 else None


def irradiance_of_isc(
    temperature: float, device: Device | None, measured: KeyPoints | None
) -> float | None:
    """Irradiance [W/m²] that the measured Isc stands for, front and rear together."""
    if device is None or measured is None or not math.isfinite(measured.i_sc):
        return None
    sheet = device.datasheet
    value = effective_irradiance.from_short_circuit(
        measured.i_sc / device.strings_in_parallel, sheet.i_sc, sheet.alpha_sc / 100.0, temperature
    )
    return float(value) if value > 0.0 else None

"""Irradiance and cell temperature that the measured curves themselves stand for.

They check the readings and stand in where none was taken. Vectorised over traces: one
evaluation for all traces of a module type.
"""

import math
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from viewer.analysis.condition_sources import Device
from viewer.analysis.possible_readings import IRRADIANCE
from viewer.physics.cell_temperature import (
    COLDEST,
    HOTTEST,
    equivalent_cell_temperature,
    temperature_of_voc,
)
from viewer.physics.effective_irradiance import from_short_circuit
from viewer.physics.key_points import KeyPoints
from viewer.physics.single_diode import open_circuit_voltage
from viewer.physics.technology import TECHNOLOGY_TABLE

Array = NDArray[np.float64]


def temperatures_by_voc(
    devices: Sequence[Device | None],
    measured: Sequence[KeyPoints | None],
    effective: Sequence[float | None],
) -> list[float | None]:
    """Equivalent cell temperature [°C] of each trace (IEC 60904-5).

    By the module's model, so that a prediction there meets the measured Voc; by the datasheet
    and the standard's equation where there is none, and for thin film, whose Voc the model
    follows less well (3 K against 3 to 36 K on measured modules). None where Voc, irradiance
    or the datasheet are missing or the result is no temperature a module can have.
    """
    found: list[float | None] = [None] * len(devices)
    groups: dict[tuple[int, int], list[int]] = {}
    for k, (device, points, poa) in enumerate(zip(devices, measured, effective, strict=True)):
        if device is None or points is None or poa is None or poa <= 0.0:
            continue
        if math.isfinite(points.v_oc) and points.v_oc > 0.0:
            groups.setdefault((id(device.model), id(device.datasheet)), []).append(k)
    for members in groups.values():
        kinds = [device for k in members if (device := devices[k]) is not None]
        voltages = [points.v_oc for k in members if (points := measured[k]) is not None]
        modules = np.array([device.modules_in_series for device in kinds], dtype=float)
        suns = np.array([effective[k] for k in members], dtype=float)
        values = _temperatures(kinds[0], np.array(voltages) / modules, suns)
        for k, value in zip(members, values, strict=True):
            found[k] = float(value) if COLDEST <= value <= HOTTEST else None
    return found


def _temperatures(device: Device, v_oc: Array, poa: Array) -> Array:
    sheet, model = device.datasheet, device.model
    kind = TECHNOLOGY_TABLE[sheet.technology]
    if model is not None and kind.crystalline:
        return temperature_of_voc(v_oc, lambda t: open_circuit_voltage(model.operating(poa, t)))
    junctions = kind.junctions(sheet.v_oc / sheet.cells_in_series)
    return equivalent_cell_temperature(
        v_oc,
        poa,
        sheet.v_oc,
        sheet.beta_voc / 100.0 * sheet.v_oc,
        sheet.cells_in_series,
        kind.diode_factor * junctions,
    )


def irradiance_by_isc(
    temperature: float | None, device: Device | None, measured: KeyPoints | None
) -> float | None:
    """Irradiance [W/m²] that a measured Isc stands for, front and rear together.

    None where something is missing or no sunlight can be that strong or weak.
    """
    if temperature is None or device is None or measured is None:
        return None
    if not math.isfinite(measured.i_sc):
        return None
    sheet = device.datasheet
    of_one = measured.i_sc / device.strings_in_parallel
    value = from_short_circuit(of_one, sheet.i_sc, sheet.alpha_sc / 100.0, temperature)
    low, high = IRRADIANCE
    return float(value) if low <= value <= high else None

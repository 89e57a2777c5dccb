"""Irradiance and cell temperature that the measured curves themselves stand for.

They check the readings and stand in where none was taken. Vectorised over traces: one
evaluation for all traces.
"""

import math
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from viewer.analysis.conditions.condition_sources import Device
from viewer.analysis.conditions.possible_readings import IRRADIANCE
from viewer.physics.cell_temperature import (
    COLDEST,
    HOTTEST,
    equivalent_cell_temperature,
    temperature_of_voc,
)
from viewer.physics.datasheet.module_model import ModuleModel
from viewer.physics.datasheet.technology import TECHNOLOGY_TABLE
from viewer.physics.effective_irradiance import from_short_circuit
from viewer.physics.measured_sweep.key_points import KeyPoints
from viewer.physics.single_diode import open_circuit_voltage

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
    by_model: list[tuple[int, Device, float, float]] = []
    by_sheet: list[tuple[int, Device, float, float]] = []
    for k, (device, points, poa) in enumerate(zip(devices, measured, effective, strict=True)):
        if device is None or points is None or poa is None or poa <= 0.0:
            continue
        if math.isfinite(points.v_oc) and points.v_oc > 0.0:
            modelled = device.model is not None and device.datasheet.crystalline
            way = by_model if modelled else by_sheet
            way.append((k, device, points.v_oc / device.modules_in_series, poa))
    for members, temperatures in ((by_model, _by_model), (by_sheet, _by_sheet)):
        if members:
            places, kinds, voltages, suns = zip(*members, strict=True)
            values = temperatures(kinds, np.array(voltages), np.array(suns, dtype=float))
            for k, value in zip(places, values.tolist(), strict=True):
                found[k] = value if COLDEST <= value <= HOTTEST else None
    return found


def _by_model(devices: Sequence[Device], v_oc: Array, poa: Array) -> Array:
    model = ModuleModel.of_each([one.model for one in devices if one.model is not None])
    return temperature_of_voc(v_oc, lambda t: open_circuit_voltage(model.operating(poa, t)))


def _by_sheet(devices: Sequence[Device], v_oc: Array, poa: Array) -> Array:
    sheets = [one.datasheet for one in devices]
    kinds = [TECHNOLOGY_TABLE[sheet.technology] for sheet in sheets]
    factors = [
        kind.diode_factor * kind.junctions(sheet.v_oc / sheet.cells_in_series)
        for kind, sheet in zip(kinds, sheets, strict=True)
    ]
    return equivalent_cell_temperature(
        v_oc,
        poa,
        [sheet.v_oc for sheet in sheets],
        [sheet.beta_voc / 100.0 * sheet.v_oc for sheet in sheets],
        [sheet.cells_in_series for sheet in sheets],
        factors,
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

"""The band around a predicted curve that its uncertainty allows, to be drawn or tested against."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from viewer.physics.datasheet.module_model import ModuleModel
from viewer.physics.single_diode import (
    DiodeParameters,
    current_at,
    exact_key_points,
)
from viewer.physics.uncertainty.uncertainty import COVERAGE, InputUncertainties

Array = NDArray[np.float64]

BEYOND_VOC = 1.5
"""The band is followed past Voc by this many times Voc's expanded uncertainty."""


@dataclass(frozen=True, eq=False)
class PredictionBand:
    """Current at each voltage with its lowest and highest value (k = 2); arrays (points,).

    voltage [V] from 0 to somewhat past Voc, current, low, high [A]; none below zero.
    """

    voltage: Array
    current: Array
    low: Array
    high: Array


@dataclass(frozen=True)
class BandCase:
    """One string at its conditions, as for `prediction_uncertainty.predicted_uncertainty`."""

    model: ModuleModel
    effective_irradiance: float
    temperature_cell: float
    modules_in_series: int = 1
    strings_in_parallel: int = 1
    cable_resistance: float = 0.0
    """Of each single string's cable, ohm."""

    def device(self, irradiance: float = 0.0, temperature: float = 0.0) -> DiodeParameters:
        """Its parameters with conditions changed by a fraction and by kelvin."""
        one = self.model.operating(
            self.effective_irradiance * (1.0 + irradiance), self.temperature_cell + temperature
        )
        string = one.in_series(self.modules_in_series).with_extra_series(self.cable_resistance)
        return string.in_parallel(self.strings_in_parallel)


def prediction_band(
    case: BandCase, inputs: InputUncertainties, points: int = 120
) -> PredictionBand:
    """The band of current at given voltage: root of the sum of squares of each input's shift.

    Irradiance and temperature move the model; the scales of current and voltage (datasheet and
    spread) stretch the curve; an uncertain fill factor acts like a series resistance that takes
    that share of the maximum power. Scalars only.
    """
    middle = case.device()
    key = {name: float(value) for name, value in exact_key_points(middle).items()}
    modules = case.modules_in_series * case.strings_in_parallel
    u_current = np.hypot(inputs.datasheet_current, inputs.spread_current / np.sqrt(modules))
    u_voltage = np.hypot(inputs.datasheet_voltage, inputs.spread_voltage / np.sqrt(modules))
    u_fill = np.sqrt(
        inputs.datasheet_fill_factor**2
        + inputs.spread_fill_factor**2 / modules
        + np.square(inputs.model)
    )
    u_g, u_t = float(inputs.irradiance), float(inputs.temperature_cell)
    by_temperature = case.device(temperature=u_t)
    warm = float(exact_key_points(by_temperature)["v_oc"]) - key["v_oc"]
    top = key["v_oc"] + BEYOND_VOC * COVERAGE * float(np.hypot(u_voltage * key["v_oc"], warm))
    voltage = _crowded(key["v_oc"], top, points)
    current = current_at(middle, voltage)
    slope = np.gradient(current, voltage)
    resistance = key["p_mp"] / key["i_mp"] ** 2
    shifts = (
        0.5 * (current_at(case.device(u_g), voltage) - current_at(case.device(-u_g), voltage)),
        0.5
        * (
            current_at(by_temperature, voltage) - current_at(case.device(temperature=-u_t), voltage)
        ),
        u_current * current,
        u_voltage * voltage * slope,
        u_fill * resistance * np.maximum(current, 0.0) * slope,
    )
    half = COVERAGE * np.sqrt(sum(np.square(shift) for shift in shifts))
    return PredictionBand(
        voltage,
        np.maximum(current, 0.0),
        np.maximum(current - half, 0.0),
        np.maximum(current + half, 0.0),
    )


def _crowded(v_oc: float, top: float, points: int) -> Array:
    """Voltages from 0 to `top`, closer together from the knee on."""
    flat = np.linspace(0.0, 0.7 * v_oc, points // 4, endpoint=False)
    return np.concatenate([flat, np.linspace(0.7 * v_oc, top, points - flat.size)])

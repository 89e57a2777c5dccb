"""Uncertainty of translated key points, by differences of the translation itself."""

from collections.abc import Mapping
from dataclasses import replace

import numpy as np
from numpy.typing import ArrayLike, NDArray

from viewer.physics.conditions import IRRADIANCE_REF, TEMPERATURE_REF, kelvin
from viewer.physics.translation.corrections import Corrections, InternalResistance
from viewer.physics.translation.procedures import translate
from viewer.physics.translation.translated_key_points import translated_key_points
from viewer.physics.uncertainty.uncertainty import (
    InputUncertainties,
    KeyPointUncertainty,
    scale_contribution,
)

Array = NDArray[np.float64]

VARIED: tuple[str, ...] = (
    "irradiance",
    "temperature_cell",
    "alpha_sc",
    "beta_voc",
    "internal_resistance",
    "kappa",
)
FITTED = 15
"""Points that decide the maximum power here: only its changes matter."""

SPREAD_OF_IRRADIANCE = 300.0
SPREAD_OF_TEMPERATURE = 25.0
"""Root mean squares of the distance from STC of the conditions that `procedure` was found over."""


def translated_uncertainty(
    voltage: ArrayLike,
    current: ArrayLike,
    *,
    poa_global: ArrayLike,
    temperature_cell: ArrayLike,
    corrections: Corrections,
    inputs: InputUncertainties,
    to_poa_global: float = IRRADIANCE_REF,
    to_temperature_cell: float = TEMPERATURE_REF,
    procedure: int = 2,
    reading: Mapping[str, ArrayLike] | None = None,
) -> KeyPointUncertainty:
    """Key points of the translated curves and what each input contributes to them.

    Arguments as for `procedures.translate`; reading: relative standard uncertainty of each
    measured key point as found in noisy points, carried over unchanged. Sensitivities are
    differences over one standard uncertainty upwards: over so little the translation is straight.
    """
    v, i = np.asarray(voltage, dtype=float), np.asarray(current, dtype=float)
    shape = v.shape[:-1]
    rows = 1 + len(VARIED)
    change = {name: np.zeros((rows, *shape)) for name in VARIED}
    for k, name in enumerate(VARIED):
        change[name][1 + k] = getattr(inputs, name)
    moved = translate(
        np.broadcast_to(v, (rows, *v.shape)),
        np.broadcast_to(i, (rows, *i.shape)),
        poa_global=np.asarray(poa_global, dtype=float) * (1.0 + change["irradiance"]),
        temperature_cell=np.asarray(temperature_cell, dtype=float) + change["temperature_cell"],
        corrections=_varied(corrections, change),
        to_poa_global=to_poa_global,
        to_temperature_cell=to_temperature_cell,
        procedure=procedure,
    )
    points = translated_key_points(moved, FITTED)
    values = {name: point[0] for name, point in points.items()}
    contributions: dict[str, Mapping[str, Array]] = {
        varied: {name: point[1 + k] - point[0] for name, point in points.items()}
        for k, varied in enumerate(VARIED)
    }
    contributions["voltage"] = scale_contribution(values, "voltage", inputs.voltage)
    contributions["current"] = scale_contribution(values, "current", inputs.current)
    far = distance(poa_global, temperature_cell, to_poa_global, to_temperature_cell)
    by_procedure = scale_contribution(values, "fill_factor", inputs.procedure)
    contributions["procedure"] = {name: part * far for name, part in by_procedure.items()}
    if reading is not None:
        contributions["reading"] = {
            name: np.where(np.isfinite(share), share, 0.0) * values[name]
            for name, share in reading.items()
        }
    return KeyPointUncertainty(values, contributions)


def distance(
    poa_global: ArrayLike, temperature_cell: ArrayLike, to_poa: ArrayLike, to_temperature: ArrayLike
) -> Array:
    """How far the conditions are moved; 1 for the root mean square of the range checked."""
    by_irradiance = (np.asarray(poa_global) - to_poa) / SPREAD_OF_IRRADIANCE
    by_temperature = (np.asarray(temperature_cell) - to_temperature) / SPREAD_OF_TEMPERATURE
    return np.hypot(by_irradiance, by_temperature) / np.sqrt(2.0)


def _varied(c: Corrections, change: Mapping[str, Array]) -> Corrections:
    rs, kappa = 1.0 + change["internal_resistance"], 1.0 + change["kappa"]

    def both(one: InternalResistance) -> InternalResistance:
        return InternalResistance(one.resistance_series * rs, one.kappa * kappa)

    return replace(
        c,
        alpha_sc=c.alpha_sc * (1.0 + change["alpha_sc"]),
        beta_voc=c.beta_voc * (1.0 + change["beta_voc"]),
        band_gap_voltage=_gap(c, change["beta_voc"]),
        first=both(c.first),
        second=both(c.second),
        resistance_series=c.resistance_series * rs,
    )


def _gap(c: Corrections, change: Array) -> Array:
    """Procedure 4 has beta in its band gap voltage: the gap moves by -beta Voc T / N."""
    moved = c.beta_voc * change * c.v_oc * kelvin(TEMPERATURE_REF) / c.cells_in_series
    return np.asarray(c.band_gap_voltage - moved, dtype=float)

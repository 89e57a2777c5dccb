"""Uncertainty of what a model predicts and of what was measured (see `uncertainty`)."""

from collections.abc import Mapping

import numpy as np
from numpy.typing import ArrayLike, NDArray

from viewer.physics.datasheet.module_model import ModuleModel
from viewer.physics.nomenclature import KEY_POINT_NAMES
from viewer.physics.single_diode import exact_key_points
from viewer.physics.uncertainty.uncertainty import (
    InputUncertainties,
    KeyPointUncertainty,
    scale_contribution,
)

Array = NDArray[np.float64]


def predicted_uncertainty(
    model: ModuleModel,
    effective_irradiance: ArrayLike,
    temperature_cell: ArrayLike,
    inputs: InputUncertainties,
    modules_in_series: ArrayLike = 1,
    strings_in_parallel: ArrayLike = 1,
    extra_resistance: ArrayLike = 0.0,
) -> KeyPointUncertainty:
    """Uncertainty of the key points a model predicts; arguments broadcast over traces.

    Sensitivities to irradiance [W/m²] and temperature [°C] are central differences of the
    model over one standard uncertainty either way. extra_resistance [ohm] is the cable's.
    """
    g, t = np.broadcast_arrays(
        np.asarray(effective_irradiance, dtype=float), np.asarray(temperature_cell, dtype=float)
    )
    u_g, u_t = inputs.irradiance, inputs.temperature_cell
    around_g = np.stack([g, g * (1.0 + u_g), g * (1.0 - u_g), g, g])
    around_t = np.stack([t, t, t, t + u_t, t - u_t])
    diode = model.operating(around_g, around_t)
    diode = diode.in_series(modules_in_series).in_parallel(strings_in_parallel)
    points = exact_key_points(diode.with_extra_series(extra_resistance))
    values = {name: points[name][0] for name in KEY_POINT_NAMES}
    contributions: dict[str, Mapping[str, Array]] = {
        "irradiance": {name: (p[1] - p[2]) / 2.0 for name, p in points.items()},
        "temperature_cell": {name: (p[3] - p[4]) / 2.0 for name, p in points.items()},
        "model": scale_contribution(values, "fill_factor", inputs.model),
    }
    modules = np.asarray(modules_in_series, dtype=float) * np.asarray(strings_in_parallel)
    for scale in ("current", "voltage", "fill_factor"):
        of_sheet = getattr(inputs, f"datasheet_{scale}")
        of_one = getattr(inputs, f"spread_{scale}")
        contributions[f"datasheet_{scale}"] = scale_contribution(values, scale, of_sheet)
        contributions[f"spread_{scale}"] = scale_contribution(
            values, scale, of_one / np.sqrt(modules)
        )
    return KeyPointUncertainty(values, contributions)


def measured_uncertainty(
    values: Mapping[str, ArrayLike],
    inputs: InputUncertainties,
    reading: Mapping[str, ArrayLike] | None = None,
) -> KeyPointUncertainty:
    """Uncertainty of measured key points: voltage and current accuracy, and `reading`.

    reading: standard uncertainty of each key point as found in the noisy points (absolute,
    not finite where it was not determined, which counts as zero).
    """
    found = {name: np.asarray(value, dtype=float) for name, value in values.items()}
    contributions: dict[str, Mapping[str, Array]] = {
        "voltage": scale_contribution(found, "voltage", inputs.voltage),
        "current": scale_contribution(found, "current", inputs.current),
    }
    if reading is not None:
        contributions["reading"] = {
            name: np.where(np.isfinite(value), value, 0.0) for name, value in reading.items()
        }
    return KeyPointUncertainty(found, contributions)

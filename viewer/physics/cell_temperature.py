"""Cell temperature from air and wind, and the equivalent cell temperature from Voc."""

from collections.abc import Callable

import numpy as np
from numpy.typing import ArrayLike, NDArray

from viewer.physics.conditions import (
    IRRADIANCE_REF,
    KELVIN_AT_0_C,
    TEMPERATURE_REF,
    cell_from_module_temperature,
)
from viewer.physics.datasheet.module_model import BOLTZMANN

Array = NDArray[np.float64]

COLDEST, HOTTEST = -60.0, 150.0
"""°C; an equivalent cell temperature beyond them is none (a wrong number of modules, say)."""

AIR_MODELS: tuple[str, ...] = ("sandia", "faiman", "pvsyst")


def from_air_and_wind(
    poa_global: ArrayLike,
    temperature_air: ArrayLike,
    wind_speed: ArrayLike,
    model: str = "sandia",
    mounting: str = "open_rack_glass_polymer",
) -> Array:
    """Cell temperature [°C] from irradiance [W/m²], air temperature [°C] and wind [m/s].

    model: "sandia" (King, Boyson and Kratochvill, SAND2004-3535; `mounting` a name among
    pvlib's "sapm" parameters), "faiman" (Progress in Photovoltaics 16 (2008) 307, module
    temperature plus 3 K at 1000 W/m²) or "pvsyst" (heat balance with constant and wind loss),
    each through pvlib with its default coefficients. All describe a steady state: a cloud a few
    minutes before the sweep spoils them. Raises ValueError for another model or mounting.
    """
    import pvlib  # not above: it is slow to load, and the window starts without it

    poa = np.asarray(poa_global, dtype=float)
    air, wind = np.asarray(temperature_air, dtype=float), np.asarray(wind_speed, dtype=float)
    if model == "faiman":
        return cell_from_module_temperature(pvlib.temperature.faiman(poa, air, wind), poa)
    if model == "pvsyst":
        return np.asarray(pvlib.temperature.pvsyst_cell(poa, air, wind), dtype=float)
    if model != "sandia":
        raise ValueError(f"'{model}' is no cell temperature model; use {', '.join(AIR_MODELS)}.")
    mountings = pvlib.temperature.TEMPERATURE_MODEL_PARAMETERS["sapm"]
    if mounting not in mountings:
        raise ValueError(f"'{mounting}' is no mounting; use {', '.join(mountings)}.")
    found = pvlib.temperature.sapm_cell(poa, air, wind, **mountings[mounting])
    return np.asarray(found, dtype=float)


def equivalent_cell_temperature(
    v_oc: ArrayLike,
    effective_irradiance: ArrayLike,
    v_oc_ref: ArrayLike,
    beta_voc: ArrayLike,
    cells_in_series: ArrayLike,
    diode_factor: ArrayLike,
) -> Array:
    """Equivalent cell temperature [°C] of IEC 60904-5 from a measured Voc.

    Voc = Voc,ref + beta (T - 25) + n Ns (k T / q) ln(G / 1000), solved for T. The standard's
    coefficient of the logarithm is taken at the temperature looked for.
    v_oc, v_oc_ref [V], beta_voc [V/K] and cells_in_series of the same device.
    """
    logarithm = np.log(np.asarray(effective_irradiance, dtype=float) / IRRADIANCE_REF)
    per_kelvin = (
        np.asarray(diode_factor, dtype=float)
        * np.asarray(cells_in_series, dtype=float)
        * BOLTZMANN
        * logarithm
    )
    beta = np.asarray(beta_voc, dtype=float)
    rise = np.asarray(v_oc, dtype=float) - np.asarray(v_oc_ref, dtype=float)
    return (rise + beta * TEMPERATURE_REF - per_kelvin * KELVIN_AT_0_C) / (beta + per_kelvin)


def temperature_of_voc(
    v_oc: ArrayLike,
    v_oc_at: Callable[[Array], Array],
    start: ArrayLike = 45.0,
    tolerance: float = 1e-6,
) -> Array:
    """Cell temperature [°C] at which a model's Voc equals the measured one [V].

    v_oc_at(temperature_cell) gives the model's Voc at the measurement's irradiance; the
    measured Voc must belong to the same number of modules. Secant steps; Voc is nearly a
    straight line of temperature, so three or four do. NaN where none lies between COLDEST and
    HOTTEST.
    """
    target = np.asarray(v_oc, dtype=float)
    t_0 = np.broadcast_to(np.asarray(start, dtype=float), target.shape).astype(float)
    t_1 = t_0 + 5.0
    off_0, off_1 = v_oc_at(t_0) - target, v_oc_at(t_1) - target
    for _ in range(20):
        slope = off_1 - off_0
        step = np.divide(off_1 * (t_1 - t_0), slope, out=np.zeros_like(t_1), where=slope != 0.0)
        t_0, off_0 = t_1, off_1
        t_1 = np.clip(t_1 - step, COLDEST, HOTTEST)
        off_1 = v_oc_at(t_1) - target
        if np.all((np.abs(step) < tolerance) | ~np.isfinite(step)):
            break
    found = (np.abs(step) < 1e-3) & (t_1 > COLDEST) & (t_1 < HOTTEST)
    return np.where(found, t_1, np.nan)

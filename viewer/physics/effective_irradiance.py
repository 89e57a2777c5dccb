"""Irradiance that a module answers to: from a reference cell, from Isc, from front and rear."""

import numpy as np
from numpy.typing import ArrayLike, NDArray

from viewer.physics.conditions import IRRADIANCE_REF, TEMPERATURE_REF

Array = NDArray[np.float64]


def from_reference_cell(
    reading: ArrayLike, temperature: ArrayLike, alpha_sc: ArrayLike = 0.0005
) -> Array:
    """Irradiance [W/m²] from a reference cell's uncorrected reading [W/m²].

    The reading is the cell's current scaled by its calibration at 25 °C; at another cell
    temperature [°C] the current has moved by alpha_sc [1/K] (IEC 60904-2, IEC 60891:
    G = reading (1 - alpha (T - 25))). 0.0005 1/K is usual for crystalline silicon cells
    (common practice, no source); the calibration certificate decides.
    """
    above = np.asarray(temperature, dtype=float) - TEMPERATURE_REF
    return np.asarray(reading, dtype=float) * (1.0 - np.asarray(alpha_sc, dtype=float) * above)


def from_short_circuit(
    i_sc: ArrayLike, i_sc_ref: ArrayLike, alpha_sc: ArrayLike, temperature_cell: ArrayLike
) -> Array:
    """Irradiance [W/m²] that explains a measured Isc [A] of a device with Isc,ref [A] at STC.

    alpha_sc relative [1/K]; Isc is taken in proportion to irradiance (IEC 60904-10).
    """
    above = np.asarray(temperature_cell, dtype=float) - TEMPERATURE_REF
    ref = np.asarray(i_sc_ref, dtype=float) * (1.0 + np.asarray(alpha_sc, dtype=float) * above)
    return IRRADIANCE_REF * np.asarray(i_sc, dtype=float) / ref


def of_bifacial(poa_global: ArrayLike, poa_rear: ArrayLike, bifaciality: ArrayLike) -> Array:
    """Equivalent front irradiance [W/m²] of a bifacial module (IEC TS 60904-1-2).

    G = front + bifaciality * rear, with the lower of the bifacialities of Isc and Pmp (the
    one most datasheets print).
    """
    front, rear = np.asarray(poa_global, dtype=float), np.asarray(poa_rear, dtype=float)
    return front + np.asarray(bifaciality, dtype=float) * rear

"""Reference conditions and temperatures."""

import numpy as np
from numpy.typing import ArrayLike, NDArray

IRRADIANCE_REF = 1000.0
"""Irradiance at standard test conditions, W/m² (IEC 61215, IEC 60904-3)."""

TEMPERATURE_REF = 25.0
"""Cell temperature at standard test conditions, °C (IEC 61215, IEC 60904-3)."""

KELVIN_AT_0_C = 273.15

BACK_TO_CELL_AT_1000 = 3.0
"""How much warmer the cells are than the back of a module at 1000 W/m², K.

Glass/cell/polymer sheet and glass/cell/glass on an open rack: King, Boyson and Kratochvill,
Photovoltaic Array Performance Model, Sandia report SAND2004-3535, table 1.
"""


def kelvin(temperature: ArrayLike) -> NDArray[np.float64]:
    """Degrees Celsius to kelvin."""
    return np.asarray(temperature, dtype=float) + KELVIN_AT_0_C


def cell_from_module_temperature(
    temperature_module: ArrayLike,
    poa_global: ArrayLike,
    difference_at_1000: float = BACK_TO_CELL_AT_1000,
) -> NDArray[np.float64]:
    """Cell temperature [°C] from a reading at the module's back [°C] and irradiance [W/m²].

    The difference grows in proportion to irradiance (King 2004, equation 12).
    """
    share = np.asarray(poa_global, dtype=float) / IRRADIANCE_REF
    return np.asarray(temperature_module, dtype=float) + share * difference_at_1000

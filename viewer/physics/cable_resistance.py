"""Resistance of the cable between a string and where it is traced.

Resistances at 20 °C are the highest that IEC 60228 allows for the nominal cross-section
(values from memory): class 5 of tinned copper, as PV cable is made (EN 50618), and class 2
of aluminium. Real cable lies a few percent below.
"""

from dataclasses import dataclass
from types import MappingProxyType

import numpy as np
from numpy.typing import ArrayLike, NDArray

Array = NDArray[np.float64]

TEMPERATURE_OF_TABLE = 20.0
"""°C."""


@dataclass(frozen=True)
class Conductor:
    """One metal: resistance at 20 °C [ohm/km] by nominal cross-section [mm²], and its change.

    temperature_coefficient [1/K] at 20 °C: 1/254.5 for copper and 1/248 for aluminium, the
    temperature corrections of IEC 60228.
    """

    name: str
    ohm_per_km: MappingProxyType[float, float]
    temperature_coefficient: float

    @property
    def sections(self) -> tuple[float, ...]:
        return tuple(self.ohm_per_km)


COPPER = Conductor(
    "copper",
    MappingProxyType(
        {
            1.5: 13.7,
            2.5: 8.21,
            4.0: 5.09,
            6.0: 3.39,
            10.0: 1.95,
            16.0: 1.24,
            25.0: 0.795,
            35.0: 0.565,
            50.0: 0.393,
            70.0: 0.277,
            95.0: 0.210,
            120.0: 0.164,
        }
    ),
    1.0 / 254.5,
)
ALUMINIUM = Conductor(
    "aluminium",
    MappingProxyType(
        {
            10.0: 3.08,
            16.0: 1.91,
            25.0: 1.20,
            35.0: 0.868,
            50.0: 0.641,
            70.0: 0.443,
            95.0: 0.320,
            120.0: 0.253,
            150.0: 0.206,
            185.0: 0.164,
            240.0: 0.125,
            300.0: 0.100,
        }
    ),
    1.0 / 248.0,
)
CONDUCTORS: MappingProxyType[str, Conductor] = MappingProxyType(
    {one.name: one for one in (COPPER, ALUMINIUM)}
)


def cable_resistance(
    length: ArrayLike,
    cross_section: ArrayLike,
    material: str = "copper",
    temperature: ArrayLike = TEMPERATURE_OF_TABLE,
) -> Array:
    """Resistance [ohm] of both conductors of a run of `length` [m] one way.

    cross_section [mm²]; between and beyond the nominal ones resistance times cross-section is
    interpolated or held. temperature [°C] of the conductor. Raises ValueError with one
    sentence for a negative length, a cross-section that is not positive, or another metal.
    """
    if material not in CONDUCTORS:
        raise ValueError(f"'{material}' is no known conductor; use {' or '.join(CONDUCTORS)}.")
    metres, section = np.asarray(length, dtype=float), np.asarray(cross_section, dtype=float)
    if np.any(metres < 0.0) or np.any(section <= 0.0):
        raise ValueError("A cable needs a length of 0 m or more and a cross-section above 0 mm².")
    conductor = CONDUCTORS[material]
    nominal = np.array(conductor.sections)
    product = np.array([conductor.ohm_per_km[s] * s for s in conductor.sections])
    per_metre = np.interp(np.log(section), np.log(nominal), product) / section / 1000.0
    warmer = np.asarray(temperature, dtype=float) - TEMPERATURE_OF_TABLE
    return 2.0 * metres * per_metre * (1.0 + conductor.temperature_coefficient * warmer)

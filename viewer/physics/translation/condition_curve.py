"""One measured curve with the conditions it was measured at."""

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from viewer.physics.translation.curve_ends import crossing, short_circuit

Array = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class ConditionCurve:
    """voltage [V] rising and current [A], (points,); poa_global [W/m²], temperature_cell [°C]."""

    voltage: Array
    current: Array
    poa_global: float
    temperature_cell: float

    @cached_property
    def i_sc(self) -> float:
        return float(short_circuit(self.voltage, self.current))

    @cached_property
    def v_oc(self) -> float:
        return float(crossing(self.voltage, self.current))

    def voltage_at(self, current: Array) -> Array:
        """Voltage [V] at currents [A] by straight lines between points; the ends are held."""
        return np.interp(-current, self._rising, self.voltage)

    @cached_property
    def _rising(self) -> Array:
        """Minus the current, made to rise."""
        return -np.minimum.accumulate(self.current)

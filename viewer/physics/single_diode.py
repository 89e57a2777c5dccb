"""The single-diode equation and its curve in parametric form.

    I = photocurrent - saturation_current (exp(Vd / nNsVth) - 1) - Vd / resistance_shunt
    V = Vd - I resistance_series

With the diode voltage Vd as the parameter both V and I are explicit (J. W. Bishop,
Solar Cells 25 (1988) 73-89, doi 10.1016/0379-6787(88)90059-2): one exponential a point and
no root to find. pvlib's `bishop88` is the reference the tests compare with.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

Array = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class DiodeParameters:
    """The five parameters of one device or of many (arrays of one shape, or scalars).

    photocurrent, saturation_current [A]; resistance_series, resistance_shunt [ohm];
    nNsVth [V]: diode factor times cells in series times the thermal voltage of one cell.
    """

    photocurrent: Array
    saturation_current: Array
    resistance_series: Array
    resistance_shunt: Array
    nNsVth: Array  # noqa: N815 (pvlib's spelling)

    @classmethod
    def of(
        cls,
        photocurrent: ArrayLike,
        saturation_current: ArrayLike,
        resistance_series: ArrayLike,
        resistance_shunt: ArrayLike,
        nNsVth: ArrayLike,  # noqa: N803
    ) -> "DiodeParameters":
        """From numbers or arrays that broadcast to one shape."""
        return cls(
            *np.broadcast_arrays(
                *(
                    np.asarray(x, dtype=float)
                    for x in (
                        photocurrent,
                        saturation_current,
                        resistance_series,
                        resistance_shunt,
                        nNsVth,
                    )
                )
            )
        )

    @property
    def shape(self) -> tuple[int, ...]:
        return np.shape(self.photocurrent)

    def in_series(self, count: ArrayLike) -> "DiodeParameters":
        """`count` equal devices in series: voltages add."""
        n = np.asarray(count, dtype=float)
        return DiodeParameters.of(
            self.photocurrent,
            self.saturation_current,
            self.resistance_series * n,
            self.resistance_shunt * n,
            self.nNsVth * n,
        )

    def in_parallel(self, count: ArrayLike) -> "DiodeParameters":
        """`count` equal devices in parallel: currents add."""
        n = np.asarray(count, dtype=float)
        return DiodeParameters.of(
            self.photocurrent * n,
            self.saturation_current * n,
            self.resistance_series / n,
            self.resistance_shunt / n,
            self.nNsVth,
        )

    def with_extra_series(self, resistance: ArrayLike) -> "DiodeParameters":
        """The same with `resistance` [ohm] more in series (cable, connectors)."""
        return DiodeParameters.of(
            self.photocurrent,
            self.saturation_current,
            self.resistance_series + np.asarray(resistance, dtype=float),
            self.resistance_shunt,
            self.nNsVth,
        )

    def __getitem__(self, index: object) -> "DiodeParameters":
        """A selection of the devices, as numpy selects."""
        return DiodeParameters(
            *(
                getattr(self, name)[index]
                for name in (
                    "photocurrent",
                    "saturation_current",
                    "resistance_series",
                    "resistance_shunt",
                    "nNsVth",
                )
            )
        )

"""What is assumed about a cell technology where a datasheet is silent.

A datasheet's three points leave the diode factor open, and the diode factor decides how well
the low-irradiance curve is predicted. It is therefore taken from the technology.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray


@dataclass(frozen=True)
class Technology:
    """Defaults of one cell technology.

    diode_factor: preferred, at 25 °C. band_gap [eV] at 25 °C. voltage_per_cell [V]: the range
    of open-circuit voltage of one cell at STC that is made today or was made before.
    dark_shunt_share: how much of the shunt conductance at STC does not depend on light.
    crystalline: whether the single-diode model is known to hold well.
    """

    name: str
    diode_factor: float
    band_gap: float
    voltage_per_cell: tuple[float, float]
    dark_shunt_share: float
    crystalline: bool


TECHNOLOGY_TABLE: dict[str, Technology] = {
    t.name: t
    for t in (
        Technology("mono-Si", 1.1, 1.121, (0.54, 0.74), 0.0, True),
        Technology("multi-Si", 1.3, 1.121, (0.54, 0.70), 0.0, True),
        Technology("n-type-Si", 1.1, 1.121, (0.60, 0.75), 0.0, True),
        Technology("HIT", 1.1, 1.121, (0.66, 0.77), 0.0, True),
        Technology("thin-film", 1.5, 1.70, (0.60, 2.60), 0.0, False),
        Technology("CdTe", 1.4, 1.475, (0.65, 0.92), 0.0, False),
        Technology("CIGS", 1.3, 1.15, (0.50, 0.80), 0.0, False),
    )
}


def technologies(names: ArrayLike) -> tuple[Technology, ...]:
    """The technology of each name. Raises ValueError that lists the known ones."""
    wanted = [str(name) for name in np.atleast_1d(np.asarray(names))]
    unknown = sorted(set(wanted) - set(TECHNOLOGY_TABLE))
    if unknown:
        raise ValueError(
            f"Technology {unknown[0]!r} is not known; write one of {', '.join(TECHNOLOGY_TABLE)}."
        )
    return tuple(TECHNOLOGY_TABLE[name] for name in wanted)


def technology_values(names: ArrayLike, field: str) -> NDArray[np.float64]:
    """One number of the table for each name, for instance `diode_factor`."""
    return np.array([float(getattr(t, field)) for t in technologies(names)])

"""What is assumed about a cell technology where a datasheet is silent.

A datasheet's three points leave the diode factor open, and the diode factor decides how well
the low-irradiance curve is predicted. It is therefore taken from the technology. Near the
maximum power point of well passivated cells (mono, n-type, heterojunction) recombination
follows the ideal diode law closely; in multicrystalline cells recombination at grain
boundaries and dislocations, of a law with n near 2, takes a larger part and lifts the factor
(general cell physics, no source). The values are by judgement, 1.1 and 1.3. Sandia's database
of modules measured outdoors, which was not used to choose them, implies 1.11 to 1.34 for the
middle half of its mono and 1.16 to 1.33 for that of its multicrystalline modules
(tests/benchmarks/bench_sandia_modules.py). A thin-film cell may hold two or three junctions,
whose factors add.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike


@dataclass(frozen=True)
class Technology:
    """Defaults of one cell technology.

    diode_factor: preferred, at 25 °C, of one junction. band_gap [eV] at 25 °C.
    voltage_per_cell [V]: lowest and highest open-circuit voltage of one cell at STC.
    dark_shunt_share: how much of the shunt conductance at STC does not depend on light.
    voltage_per_junction [V]: typical at STC; only where a cell may hold several junctions.
    crystalline: whether the single-diode model is known to hold well.
    """

    name: str
    diode_factor: float
    band_gap: float
    voltage_per_cell: tuple[float, float]
    dark_shunt_share: float = 0.0
    voltage_per_junction: float | None = None
    crystalline: bool = True

    def junctions(self, voltage_per_cell: float) -> float:
        """How many junctions a cell of that open-circuit voltage [V] must hold."""
        if self.voltage_per_junction is None or not voltage_per_cell > 0.0:
            return 1.0
        return max(1.0, round(voltage_per_cell / self.voltage_per_junction))


TECHNOLOGY_TABLE: dict[str, Technology] = {
    kind.name: kind
    for kind in (
        Technology("mono-Si", 1.1, 1.121, (0.48, 0.78)),
        Technology("multi-Si", 1.3, 1.121, (0.48, 0.76)),
        Technology("n-type-Si", 1.1, 1.121, (0.58, 0.77)),
        Technology("HIT", 1.1, 1.121, (0.64, 0.77)),
        Technology("thin-film", 1.7, 1.70, (0.45, 2.70), 0.3, 0.85, crystalline=False),
        Technology("CdTe", 1.6, 1.475, (0.65, 0.95), 0.3, crystalline=False),
        Technology("CIGS", 1.5, 1.15, (0.45, 0.80), 0.3, crystalline=False),
    )
}
"""By name. Band gaps: De Soto 2006, table 3, for silicon, CdTe and CIGS; 1.7 eV for amorphous
silicon (from memory). Voltages per cell span what pvlib's CEC list holds."""


def technologies(names: ArrayLike) -> tuple[Technology, ...]:
    """The technology of each name. Raises ValueError that lists the known ones."""
    wanted = np.atleast_1d(np.asarray(names)).tolist()
    for name in set(wanted):
        if name not in TECHNOLOGY_TABLE:
            known = ", ".join(TECHNOLOGY_TABLE)
            raise ValueError(f"Technology {name!r} is not known; write one of {known}.")
    return tuple(TECHNOLOGY_TABLE[name] for name in wanted)

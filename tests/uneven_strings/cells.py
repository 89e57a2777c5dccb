"""One cell as Bishop's model has it: the single diode, and breakdown when it is driven backwards.

J. W. Bishop, "Computer simulation of the effects of electrical mismatches in photovoltaic cell
interconnection circuits", Solar Cells 25 (1988) 73-89: the current through the shunt is
multiplied by 1 + factor (1 - Vd / breakdown voltage)^-exponent. Module parameters at the
conditions are those of pvlib's `calcparams_cec` (A. P. Dobos, J. Sol. Energy Eng. 134 (2012)
021011).
"""

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
import pandas as pd
import pvlib
from numpy.typing import NDArray

Array = NDArray[np.float64]

BOLTZMANN_OVER_CHARGE = 8.617333e-5  # V/K, CODATA 2018, cut short

# Where the table of a cell's curve has its rows: as shares of the breakdown voltage when driven
# backwards, and of the photocurrent that the diode takes when driven forwards.
NEAR_BREAKDOWN = np.linspace(0.9995, 0.9, 60, endpoint=False)
BACKWARDS = np.linspace(0.9, 0.0, 90, endpoint=False)
DIODE_SHARES = np.linspace(0.004, 1.06, 130)
BEFORE_DIODE = 60


class DiodeParameters(NamedTuple):
    """The five parameters of a whole module [A, A, ohm, ohm, V]."""

    photocurrent: float
    saturation_current: float
    resistance_series: float
    resistance_shunt: float
    n_vth: float


@dataclass(frozen=True)
class Breakdown:
    """Bishop's three; the voltage is given as a positive number [V]."""

    voltage: float
    factor: float
    exponent: float


@dataclass(frozen=True)
class Cell:
    """One cell, or the half of one where modules are half-cut [A, A, ohm, ohm, V]."""

    photocurrent: float
    saturation_current: float
    resistance_series: float
    resistance_shunt: float
    n_vth: float
    breakdown: Breakdown
    resistance_reverse: float | None = None
    """Shunt while the cell is driven backwards [ohm]; None where it is the forward one."""


def parameters_at(row: pd.Series, irradiance: float, temperature: float) -> DiodeParameters:
    """Parameters of a module of the CEC list at W/m² and °C of its cells."""
    names = ("alpha_sc", "a_ref", "I_L_ref", "I_o_ref", "R_sh_ref", "R_s", "Adjust")
    found = pvlib.pvsystem.calcparams_cec(irradiance, temperature, *(row[name] for name in names))
    return DiodeParameters(*(float(one) for one in found))


def cell_voltage(cell: Cell, current: Array) -> Array:
    """Terminal voltage [V] at each current [A], read off a table of the cell's own curve.

    Between its rows the table is read in straight lines, which costs up to 0.11 % of the
    photocurrent where the diode begins to conduct, and 3e-5 of the power at the maximum.
    The photocurrent must be above zero. Currents beyond the table's ends get the end's voltage;
    backwards that is within 0.05 % of the breakdown voltage.
    """
    forward = cell.n_vth * np.log1p(DIODE_SHARES * cell.photocurrent / cell.saturation_current)
    junction = np.concatenate(
        [
            -cell.breakdown.voltage * np.concatenate([NEAR_BREAKDOWN, BACKWARDS]),
            np.linspace(0, forward[0], BEFORE_DIODE, endpoint=False),
            forward,
        ]
    )
    shunt: float | Array = cell.resistance_shunt
    if cell.resistance_reverse is not None:
        shunt = np.where(junction < 0, cell.resistance_reverse, cell.resistance_shunt)
    avalanche = (1 + junction / cell.breakdown.voltage) ** -cell.breakdown.exponent
    through_diode = cell.saturation_current * np.expm1(junction / cell.n_vth)
    through_shunt = junction / shunt * (1 + cell.breakdown.factor * avalanche)
    at = cell.photocurrent - through_diode - through_shunt
    voltage = junction - at * cell.resistance_series
    return np.interp(current, at[::-1], voltage[::-1])

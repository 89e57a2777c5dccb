"""Newton's method with a line search: slower than the plain one, but it always comes home.

Every element's current falls as its voltage rises, so the circuit's solution is where a convex
function is least: the content of all elements, the sum of the integrals of current over
voltage (W. Millar, Philosophical Magazine 42 (1951) 1150-1160). Diode voltages, group voltages
and the string's voltage are kept such that voltages add up; a Newton step keeps that, and along
it the function's slope is a sum over elements. The step is cut where the slope turns positive.
"""

import numpy as np
from numpy.typing import NDArray

from viewer.physics.cell_string.circuit import Circuit
from viewer.physics.cell_string.newton_step import Step, element_currents, newton_step

Array = NDArray[np.float64]

MOST_STEPS = 500
HALVINGS = 45
SMALL = 2e-2
"""A step below this, in diode voltage over nNsVth, is taken whole: the slope is only rounding."""


def solve_carefully(
    circuit: Circuit, asked: Array, by_current: bool, tolerance: float
) -> tuple[Array, Step]:
    """Diode voltages (elements, points) and the last step, at asked currents or voltages.

    Raises RuntimeError if an element still misses its path's current by more than
    `tolerance` [A] after all steps.
    """
    c = circuit
    group_voltage = np.zeros((c.groups, len(asked)))
    if not by_current:
        group_voltage += asked / c.group_count.sum()
    cells = np.add.reduceat(c.count, c.path_start, axis=0)
    vd = (group_voltage[c.group_of_path] / cells)[c.path_of_element]
    for _ in range(MOST_STEPS):
        step = newton_step(c, vd, asked, by_current)
        if (step.miss <= tolerance).all():
            return vd + step.change, step
        change = step.group_voltage - group_voltage
        share = _share(c, vd, group_voltage, step.change, change, asked, by_current)
        vd = vd + share * step.change
        group_voltage = group_voltage + share * change
    raise RuntimeError("the string's circuit could not be solved")


def _share(
    circuit: Circuit,
    vd: Array,
    group_voltage: Array,
    vd_change: Array,
    group_change: Array,
    asked: Array,
    by_current: bool,
) -> Array:
    """How much of the step to take at each point: all, or up to where the slope is zero."""

    def rises(share: Array) -> NDArray[np.bool_]:
        slope = _slope(
            circuit,
            vd + share * vd_change,
            group_voltage + share * group_change,
            vd_change,
            group_change,
            asked,
            by_current,
        )
        return np.asarray(~(slope <= 0.0))

    low, high = np.zeros(len(asked)), np.ones(len(asked))
    cut = rises(high) & (np.abs(vd_change / circuit.nNsVth).max(axis=0) > SMALL)
    if not cut.any():
        return high
    for _ in range(HALVINGS):
        middle = 0.5 * (low + high)
        beyond = rises(middle)
        high = np.where(cut & beyond, middle, high)
        low = np.where(cut & ~beyond, middle, low)
    return np.where(cut, np.where(low > 0.0, low, high), 1.0)


def _slope(
    circuit: Circuit,
    vd: Array,
    group_voltage: Array,
    vd_change: Array,
    group_change: Array,
    asked: Array,
    by_current: bool,
) -> Array:
    """Slope of the content along the step, per point; NaN or infinite where it overflows."""
    c = circuit
    with np.errstate(over="ignore", invalid="ignore", divide="ignore"):
        f, _ = element_currents(c, vd)
        paths = np.add.reduceat(-c.count * f * vd_change, c.path_start, axis=0)
        paths += _resistor_slope(c, vd, group_voltage, vd_change, group_change)
        groups = np.add.reduceat(c.path_count * paths, c.group_start, axis=0)
        total: Array = (c.group_count * groups).sum(axis=0)
        rise = (c.group_count * group_change).sum(axis=0)
        if by_current:
            return total + asked * rise
        if c.resistance > 0:
            return (
                total + ((c.group_count * group_voltage).sum(axis=0) - asked) / c.resistance * rise
            )
        return total


def _resistor_slope(
    circuit: Circuit, vd: Array, group_voltage: Array, vd_change: Array, group_change: Array
) -> Array:
    """The share of the paths' series resistance in the slope, shape (paths, points)."""
    c = circuit
    over = group_voltage[c.group_of_path] - np.add.reduceat(c.count * vd, c.path_start, axis=0)
    change = group_change[c.group_of_path] - np.add.reduceat(
        c.count * vd_change, c.path_start, axis=0
    )
    ohm = c.path_resistance
    return np.where(ohm > 0, over * change / np.where(ohm > 0, ohm, 1.0), 0.0)

"""One step of Newton's method for a string's circuit, in closed form.

Each element is replaced by its tangent, I = f + g (Vd_old - Vd). That makes every path a source
E behind a resistance R, every group a source behind its paths in parallel and the string a sum
of groups, so the step needs no matrix and is taken for all points at once.
"""

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from viewer.physics.cell_string.circuit import Circuit

Array = NDArray[np.float64]


class Step(NamedTuple):
    change: Array
    path_current: Array
    group_voltage: Array
    voltage: Array
    current: Array
    miss: Array


def element_currents(circuit: Circuit, diode_voltage: Array) -> tuple[Array, Array]:
    """Current [A] of each element and minus its slope [S], shape (elements, points)."""
    growth = np.exp(diode_voltage / circuit.nNsVth)
    diode = circuit.saturation_current * growth
    current = (
        circuit.photocurrent
        - diode
        + circuit.saturation_current
        - circuit.conductance * diode_voltage
    )
    slope = diode / circuit.nNsVth + circuit.conductance
    rows = circuit.breaking
    if len(rows):
        v = diode_voltage[rows]
        left = 1.0 - v / circuit.breakdown_voltage[rows]
        m = circuit.breakdown_exponent[rows]
        leak = circuit.breakdown_conductance[rows] * np.exp(-m * np.log(left))
        current[rows] -= leak * v
        slope[rows] += leak * (1.0 + m * v / (left * circuit.breakdown_voltage[rows]))
    return current, slope


def newton_step(circuit: Circuit, vd: Array, asked: Array, by_current: bool) -> Step:
    """One Newton step towards the asked currents, or voltages."""
    c = circuit
    f, g = element_currents(c, vd)
    source = np.add.reduceat(c.count * (vd + f / g), c.path_start, axis=0)
    resistance = np.add.reduceat(c.count / g, c.path_start, axis=0) + c.path_resistance
    admittance = c.path_count / resistance
    total = np.add.reduceat(admittance, c.group_start, axis=0)
    driven = np.add.reduceat(admittance * source, c.group_start, axis=0)
    current = asked
    if not by_current:
        opened = (c.group_count * driven / total).sum(axis=0)
        current = (opened - asked) / ((c.group_count / total).sum(axis=0) + c.resistance)
    group_voltage = (driven - current) / total
    path_current = (source - group_voltage[c.group_of_path]) / resistance
    miss = f - path_current[c.path_of_element]
    string = (c.group_count * group_voltage).sum(axis=0) - c.resistance * current
    return Step(miss / g, path_current, group_voltage, string, current, np.abs(miss).max(axis=0))

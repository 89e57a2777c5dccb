"""Strings in parallel at a combiner: at one voltage their currents add."""

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from viewer.physics.cell_string.cells import CellString
from viewer.physics.cell_string.string_curve import current_at, voltage_at

Array = NDArray[np.float64]


def combined_curve(strings: Sequence[CellString], points: int = 200) -> tuple[Array, Array, Array]:
    """Voltage [V] (points,), total current [A] (points,), each string's [A] (strings, points).

    Without blocking diodes: a string whose open-circuit voltage is passed takes current from
    the others, shown below zero. The voltage runs to the highest open-circuit voltage. Raises
    ValueError without a string.
    """
    if not strings:
        raise ValueError("a combiner's curve needs at least one string")
    highest = max(float(voltage_at(string, 0.0)) for string in strings)
    # Closer together towards open circuit, where the curve is steep.
    share = 1.0 - (1.0 - np.linspace(0.0, 1.0, points)) ** 1.7
    voltage = highest * share
    each = np.stack([current_at(string, voltage) for string in strings])
    return voltage, each.sum(axis=0), each

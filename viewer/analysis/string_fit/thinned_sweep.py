"""A dense sweep as fewer points, each the mean of the readings near it."""

import numpy as np
from numpy.typing import NDArray

from viewer.analysis.string_fit.signature_fit import Sweep

Array = NDArray[np.float64]

MOST_POINTS = 112
"""Of 64 and more the findings hardly change on the strings that they are tuned on; sweeps of up to
so many are filled up to it anyway when they are fitted side by side."""
SHORTEST_CURVE = 1e-12


def thinned(voltage: Array, current: Array, noise_voltage: float, noise_current: float) -> Sweep:
    """The sweep with at most MOST_POINTS points, evenly along the curve; short ones as they are.

    `voltage` rises. Along the curve means by how far the voltage has risen and the current fallen.
    """
    size = voltage.size
    if size <= MOST_POINTS:
        return Sweep(voltage, current, np.ones(size), noise_voltage, noise_current)
    along = np.maximum.accumulate(voltage - current)
    whole = max(float(along[-1] - along[0]), SHORTEST_CURVE)
    part = np.floor((along - along[0]) * (MOST_POINTS - 1) / whole)
    first = np.flatnonzero(np.diff(part, prepend=-1.0))
    count = np.diff(np.append(first, size))
    v, i = (np.add.reduceat(values, first) / count for values in (voltage, current))
    return Sweep(v, i, np.sqrt(count), noise_voltage, noise_current)

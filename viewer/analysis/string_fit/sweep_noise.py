"""How noisy a sweep is, from the sweep itself."""

import math

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

MODEL_CURRENT, MODEL_VOLTAGE = 0.0008, 0.0006
"""Of full scale: what the reduced string differs from real ones, for modules are never quite equal
(judged by strings that ngspice simulated, seeds to tune on)."""
INDEPENDENT_POINTS = 100.0
"""That difference is alike at neighbouring points: over a sweep it tells no more than noise at so
many points would, however many there are (judgement)."""
VOLTAGE_NOISE_SHARE = 0.7
"""Noise of voltage relative to that of current, both over full scale (judgement)."""
MOST_NOISE = 0.02
"""Of full scale: where neighbouring readings differ by more, something else moved (judgement)."""
FLAT_UNTIL, FEWEST_FLAT = 0.7, 6
"""Share of the highest voltage up to which a curve counts as flat, and how many of its points are
taken at least (judgement)."""


def sweep_noise(voltage: Array, current: Array) -> tuple[float, float]:
    """Standard deviations of voltage and current noise, in the units of the arrays.

    From how far each point lies off the line through its neighbours, where the curve is flat
    (the voltages below FLAT_UNTIL); the median makes steps and outliers harmless.
    """
    flat = int(np.searchsorted(voltage, FLAT_UNTIL * voltage[-1]))
    last = max(flat, FEWEST_FLAT)
    v, i = voltage[:last], current[:last]
    gap = np.maximum(v[2:] - v[:-2], 1e-12)
    left = (v[2:] - v[1:-1]) / gap
    off = i[1:-1] - left * i[:-2] - (1.0 - left) * i[2:]
    off /= np.sqrt(1.0 + left**2 + (1.0 - left) ** 2)
    relative = 1.4826 * float(np.median(np.abs(off))) / max(float(current.max()), 1e-12)
    relative = min(relative, MOST_NOISE)
    full_current, full_voltage = float(current.max()), float(voltage[-1])
    alike = math.sqrt(voltage.size / INDEPENDENT_POINTS)
    return (
        full_voltage * math.hypot(VOLTAGE_NOISE_SHARE * relative, MODEL_VOLTAGE * alike),
        full_current * math.hypot(relative, MODEL_CURRENT * alike),
    )

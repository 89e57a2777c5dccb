"""Single readings far off a sweep's curve, as a disturbed contact or converter leaves them.

The current of a string never rises with its voltage, so that a reading far below those that follow
it or far above those before it is none of the string's, if its neighbours on both sides agree.
"""

import numpy as np
from numpy.lib.stride_tricks import sliding_window_view
from numpy.typing import NDArray

Array = NDArray[np.float64]
Flags = NDArray[np.bool_]

FAR_OFF = 0.03
"""Of the greatest current: what is nearer is noise, which the fits weigh (judgement)."""
OVER_SCATTER = 8.0
"""So many times the usual distance of the readings around it."""
BESIDE = 3
"""Readings on either side whose median a reading is held against."""
AROUND = 10
"""Readings on either side that tell the usual distance."""
MOST = 0.04
"""Of all readings: where more are far off, they are what was measured."""


def lone_readings(current: Array) -> Flags:
    """Which readings of a sweep (current [A], voltage rising, shape (n,)) are far off the others.

    Never one of the first or last three, for nothing on its other side speaks against it.
    """
    lone = np.zeros(current.size, dtype=bool)
    least = FAR_OFF * float(np.max(current, initial=0.0))
    if current.size <= 2 * BESIDE + 1 or not (current[1:] - current[:-1] > least).any():
        return lone
    medians = np.median(sliding_window_view(current, BESIDE), axis=1)
    before, after = medians[: -BESIDE - 1], medians[BESIDE + 1 :]
    inner = current[BESIDE:-BESIDE]
    off = np.maximum(after - inner, inner - before)
    scatter = np.pad(np.abs(inner - 0.5 * (before + after)), AROUND, mode="reflect")
    usual = np.median(sliding_window_view(scatter, 2 * AROUND + 1), axis=1)
    lone[BESIDE:-BESIDE] = (off > np.maximum(least, OVER_SCATTER * usual)) & (
        before >= after - least
    )
    few = np.count_nonzero(lone) <= max(1.0, MOST * current.size)
    return lone if few else np.zeros_like(lone)

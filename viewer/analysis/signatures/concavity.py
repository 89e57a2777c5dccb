"""Where a sweep bends the wrong way: a sound curve is concave all along, a stair is not."""

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]


def depth_below_hull(voltage: Array, current: Array) -> tuple[Array, Array]:
    """How far each point lies below the concave hull of the sweep [A], and the hull's slope [A/V].

    `voltage` rising, shape (n,). The depth is zero on the hull and never negative; on a sound
    sweep it is no more than the noise makes.
    """
    corners: list[int] = []
    for k in range(voltage.size):
        while len(corners) >= 2 and _inward(voltage, current, corners[-2], corners[-1], k):
            corners.pop()
        corners.append(k)
    hull = np.interp(voltage, voltage[corners], current[corners])
    segment = np.clip(np.searchsorted(voltage[corners], voltage) - 1, 0, len(corners) - 2)
    slopes = np.diff(current[corners]) / np.maximum(np.diff(voltage[corners]), 1e-12)
    return np.maximum(hull - current, 0.0), slopes[segment]


def _inward(voltage: Array, current: Array, a: int, b: int, c: int) -> bool:
    """Whether the middle of three points lies on or below the line through the outer two."""
    along = (voltage[b] - voltage[a]) * (current[c] - current[a])
    across = (voltage[c] - voltage[a]) * (current[b] - current[a])
    return bool(across <= along)

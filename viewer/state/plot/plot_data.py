"""Many curves as one array, so that one drawing call paints them all."""

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
Joints = NDArray[np.bool_]


def joined(curves: Sequence[tuple[Array, Array]]) -> tuple[Array, Array, Joints]:
    """Curves end to end: x, y and, for each point, whether it is joined to the next one."""
    if not curves:
        return np.empty(0), np.empty(0), np.empty(0, dtype=bool)
    x = np.concatenate([one[0] for one in curves])
    y = np.concatenate([one[1] for one in curves])
    connected = np.ones(len(x), dtype=bool)
    ends = np.cumsum([len(one[0]) for one in curves]) - 1
    connected[ends[ends >= 0]] = False
    return x, y, connected


def nearest_curve(
    curves: Sequence[tuple[Array, Array]], x: float, y: float, x_scale: float, y_scale: float
) -> int | None:
    """Index of the curve nearest to a place, distances counted in the scales; None if none."""
    best, found = np.inf, None
    for index, (cx, cy) in enumerate(curves):
        if not len(cx):
            continue
        distance = np.min(((cx - x) / x_scale) ** 2 + ((cy - y) / y_scale) ** 2)
        if distance < best:
            best, found = float(distance), index
    return found

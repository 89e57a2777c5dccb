"""Many curves as one array, so that one drawing call paints them all."""

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]


def joined(curves: Sequence[tuple[Array, Array]]) -> tuple[Array, Array, NDArray[np.bool_]]:
    """Curves end to end: x, y and, for each point, whether it is joined to the next one."""
    if not curves:
        return np.empty(0), np.empty(0), np.empty(0, dtype=bool)
    x = np.concatenate([one[0] for one in curves])
    y = np.concatenate([one[1] for one in curves])
    connected = np.ones(len(x), dtype=bool)
    ends = np.cumsum([len(one[0]) for one in curves]) - 1
    connected[ends[ends >= 0]] = False
    return x, y, connected


def simplified(x: Array, y: Array, x_step: float, y_step: float) -> tuple[Array, Array]:
    """Fewer points of one curve, none further than a step from the line between those kept.

    `x_step`, `y_step` are the sizes of half a pixel. Points are dropped by the rule of Ramer
    (1972) and of Douglas and Peucker (1973), with distances counted in steps.
    """
    count = len(x)
    if count < 3 or not (x_step > 0 and y_step > 0):
        return x, y
    u, w = x / x_step, y / y_step
    keep = np.zeros(count, dtype=bool)
    keep[[0, -1]] = True
    spans = [(0, count - 1)]
    while spans:
        first, last = spans.pop()
        if last - first < 2:
            continue
        du, dw = u[last] - u[first], w[last] - w[first]
        length = float(np.hypot(du, dw)) or 1.0
        inner = slice(first + 1, last)
        distance = np.abs(du * (w[inner] - w[first]) - dw * (u[inner] - u[first])) / length
        worst = int(np.argmax(distance))
        if distance[worst] > 1.0:
            middle = first + 1 + worst
            keep[middle] = True
            spans += [(first, middle), (middle, last)]
    return x[keep], y[keep]


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

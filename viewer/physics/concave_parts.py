"""A sweep divided at its steps into parts that a single diode could have made.

Whatever its parameters, one diode's current falls ever faster with voltage: its curve is concave.
Where a bypass diode takes over, the curve is not: it sags below the straight line that bridges
the place. The bridges are the edges of the least concave curve above the points.
"""

from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

BLOCKS = 72
LEAST_SAG = 0.004
"""Of Isc and Voc; a shallower sag is left to the misfit of the curve."""
FEWEST_POINTS = 4


def concave_parts(voltage: Array, current: Array, least_sag: float = LEAST_SAG) -> list[slice]:
    """Runs of points that are each concave within `least_sag`.

    voltage, current: one sweep by rising voltage, in units of its Voc and Isc. The parts follow
    each other without gaps; one part is the whole sweep.
    """
    cuts = sorted(_cuts(voltage, current, 0, voltage.size, least_sag))
    edges = [0, *cuts, voltage.size]
    return [slice(a, b) for a, b in pairwise(edges)]


def _cuts(v: Array, i: Array, start: int, stop: int, least_sag: float) -> list[int]:
    """Where the points of start:stop sag most, and again on either side of it."""
    if stop - start < 2 * FEWEST_POINTS:
        return []
    sag, at = deepest_sag(v[start:stop], i[start:stop])
    at += start
    if sag < least_sag or at - start < FEWEST_POINTS or stop - at < FEWEST_POINTS:
        return []
    return [
        *_cuts(v, i, start, at, least_sag),
        at,
        *_cuts(v, i, at, stop, least_sag),
    ]


def deepest_sag(voltage: Array, current: Array) -> tuple[float, int]:
    """The largest distance below the bridges, and the number of the point where it is.

    The distance is taken at right angles to the bridge.
    """
    edges = np.unique(np.linspace(0, voltage.size, min(voltage.size, BLOCKS) + 1).astype(int))
    sizes = np.diff(edges)
    v = np.add.reduceat(voltage, edges[:-1]) / sizes
    i = np.add.reduceat(current, edges[:-1]) / sizes
    corners = _upper_corners(v.tolist(), i.tolist())
    bridge = np.interp(v, v[corners], i[corners])
    slope = np.diff(i[corners]) / np.diff(v[corners])
    over = np.searchsorted(corners, np.arange(v.size), side="right") - 1
    slope = slope[np.clip(over, 0, slope.size - 1)]
    sag = (bridge - i) / np.sqrt(1.0 + slope**2)
    deepest = int(np.argmax(sag))
    return float(sag[deepest]), int(edges[deepest] + sizes[deepest] // 2)


def _upper_corners(v: list[float], i: list[float]) -> NDArray[np.int64]:
    """Corners of the upper hull of points by rising v (A. M. Andrew, 1979)."""
    corners: list[int] = []
    for k in range(len(v)):
        while len(corners) > 1:
            a, b = corners[-2], corners[-1]
            if (v[b] - v[a]) * (i[k] - i[a]) < (v[k] - v[a]) * (i[b] - i[a]):
                break
            corners.pop()
        if corners and v[k] <= v[corners[-1]]:
            continue
        corners.append(k)
    return np.array(corners)

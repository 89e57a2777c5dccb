"""A sweep divided at its steps into parts that a single diode could have made.

Whatever its parameters, one diode's current falls ever faster with voltage: its curve is concave.
Where a bypass diode takes over, the curve is not: it sags below the straight line that bridges
the place. The bridges are the edges of the least concave curve above the points.

Limits without a source are judgement.
"""

from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

BLOCKS = 60
LEAST_SAG = 0.004
"""Of Isc and Voc; a shallower sag is left to the misfit of the curve."""
NOISES_IN_A_SAG = 7.0
"""Standard deviations of a point that a sag must be deep to be more than noise."""
FEWEST_POINTS = 4


def least_sag_beside(noise: float) -> float:
    """The shallowest sag that counts where a point has the standard deviation `noise` (of Isc)."""
    return max(LEAST_SAG, NOISES_IN_A_SAG * noise)


def concave_parts(voltage: Array, current: Array, least_sag: float = LEAST_SAG) -> list[slice]:
    """Runs of points that are each concave within `least_sag`.

    voltage, current: one sweep by rising voltage, in units of its Voc and Isc. The parts follow
    each other without gaps; one part is the whole sweep.
    """
    edges, v, i = _blocks(voltage, current)
    found: list[tuple[float, int]] = []
    waiting = [(0, len(v))]
    while waiting:
        start, stop = waiting.pop()
        for sag, at, left, right in _sags(v[start:stop], i[start:stop], least_sag):
            found.append((sag, (edges[start + at] + edges[start + at + 1]) // 2))
            # a cut changes the bridges only between the corners of the one it is under
            waiting += [(start + left, start + at), (start + at, start + right + 1)]
    cuts: list[int] = []
    for _, cut in sorted(found, reverse=True):
        if min(abs(cut - other) for other in (0, voltage.size, *cuts)) >= FEWEST_POINTS:
            cuts.append(cut)
    return [slice(a, b) for a, b in pairwise([0, *sorted(cuts), voltage.size])]


def deepest_sag(voltage: Array, current: Array) -> tuple[float, int]:
    """The largest distance below the bridges, and the number of the point where it is.

    The distance is taken at right angles to the bridge.
    """
    edges, v, i = _blocks(voltage, current)
    sags = _sags(v, i, 0.0)
    if not sags:
        return 0.0, 0
    sag, at, _, _ = max(sags)
    return sag, (edges[at] + edges[at + 1]) // 2


def _blocks(voltage: Array, current: Array) -> tuple[list[int], list[float], list[float]]:
    """Edges of up to BLOCKS runs of points, and the mean voltage and current of each.

    Plain lists: for so few numbers they are quicker than arrays.
    """
    blocks = min(voltage.size, BLOCKS)
    edges = np.arange(blocks + 1) * voltage.size // blocks
    sizes = np.diff(edges)
    v = np.add.reduceat(voltage, edges[:-1]) / sizes
    i = np.add.reduceat(current, edges[:-1]) / sizes
    return edges.tolist(), v.tolist(), i.tolist()


def _sags(v: list[float], i: list[float], least: float) -> list[tuple[float, int, int, int]]:
    """The deepest sag under each bridge that has one of `least` or more: its depth, where it
    is, and the corners of the bridge."""
    out = []
    for a, b in pairwise(_upper_corners(v, i)):
        if b - a < 2:
            continue
        slope = (i[b] - i[a]) / (v[b] - v[a])
        depths = [i[a] + slope * (v[k] - v[a]) - i[k] for k in range(a + 1, b)]
        deepest = max(depths)
        sag = deepest / (1.0 + slope * slope) ** 0.5
        if sag > least:
            out.append((sag, a + 1 + depths.index(deepest), a, b))
    return out


def _upper_corners(v: list[float], i: list[float]) -> list[int]:
    """Corners of the upper hull of points by rising v (A. M. Andrew, 1979)."""
    corners: list[int] = []
    for k, (vk, ik) in enumerate(zip(v, i, strict=True)):
        if corners and vk <= v[corners[-1]]:
            continue
        while len(corners) > 1:
            a, b = corners[-2], corners[-1]
            if (v[b] - v[a]) * (ik - i[a]) < (vk - v[a]) * (i[b] - i[a]):
                break
            corners.pop()
        corners.append(k)
    return corners

"""Where a sweep bends the wrong way: a sound curve is concave all along, a stair is not."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from viewer.analysis.string_fit.sweep_noise import sweep_noise

Array = NDArray[np.float64]

LEAST_DEPTH = 0.012
"""Of the short-circuit current: a shallower hollow is no stair."""
OVER_NOISE = 7.0
BINS = 70
TAIL = 0.06
"""The last points, below this share of the short-circuit current, are left out."""
MOST_FEET = 5


@dataclass(frozen=True)
class Foot:
    """Where the curve stops falling: `before` is the voltage where the fall begins."""

    before: float
    voltage: float
    current: float


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


def feet_of(voltage: Array, current: Array, i_sc: float) -> list[Foot]:
    """Feet of the stairs, from short circuit on; voltage rising, current and `i_sc` in one unit."""
    noise_voltage, noise_current = sweep_noise(voltage, current)
    kept = current > TAIL * i_sc
    v, i, number = _averaged(voltage[kept], current[kept])
    feet: list[Foot] = []
    while v.size >= 5 and len(feet) < MOST_FEET:
        depth, slope = depth_below_hull(v, i)
        noise = np.hypot(noise_current, slope * noise_voltage) / np.sqrt(number)
        deep = np.flatnonzero(depth > np.maximum(LEAST_DEPTH * i_sc, OVER_NOISE * noise))
        if not deep.size:
            break
        # the hollow that comes first, up to where it touches the hull again
        end = deep[0] + int(np.flatnonzero(depth[deep[0] :] <= 0.0)[0])
        foot = deep[0] + int(np.argmax(depth[deep[0] : end]))
        begin = int(np.flatnonzero(depth[:foot] <= 0.0)[-1])
        feet.append(Foot(float(v[begin]), float(v[foot]), float(i[foot])))
        v, i = v[foot:], i[foot:]
    return feet


def _averaged(voltage: Array, current: Array) -> tuple[Array, Array, int]:
    """Means over as many neighbouring points as leave about BINS, and that number."""
    number = max(1, voltage.size // BINS)
    size = voltage.size // number * number
    v = voltage[:size].reshape(-1, number).mean(axis=1)
    i = current[:size].reshape(-1, number).mean(axis=1)
    return v, i, number

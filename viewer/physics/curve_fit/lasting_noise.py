"""Noise that lasts through part of a sweep (drifting light, a slow amplifier), told from
several sweeps of one curve.

The deviation in current of a point is modelled as the sum of a part that fades along the sweep
(an Ornstein-Uhlenbeck process in voltage), white noise in current, and white noise in voltage
times the curve's steepness. A Kalman filter turns such deviations into independent ones of
unit size in one pass (R. E. Kalman, J. Basic Eng. 82 (1960) 35-45).
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import minimize

Array = NDArray[np.float64]
Mask = NDArray[np.bool_]

SMALLEST_SHARE = 1e-3
"""White noise in current over all noise in current, at least."""


@dataclass(frozen=True)
class LastingNoise:
    """Standard deviations in the sweeps' units and the voltage `length` over which it fades."""

    lasting: float
    length: float
    white: float
    voltage: float


@dataclass(frozen=True, eq=False)
class Course:
    """Voltage and squared steepness of the points of each sweep in turn, (sweeps, points)."""

    voltage: Array
    steepness: Array
    used: Mask


def whiten(noise: LastingNoise, course: Course, series: Array) -> tuple[Array, float]:
    """`series` (sweeps, kinds, points) made independent, and the sum of the log variances."""
    white = noise.white**2 + noise.voltage**2 * course.steepness
    gaps = np.abs(np.diff(course.voltage, axis=1, prepend=course.voltage[:, :1]))
    fade = np.exp(-gaps / noise.length)
    mean = np.zeros(series.shape[:2])
    variance = np.full(len(series), noise.lasting**2)
    out = np.zeros(series.shape)
    log_sum = 0.0
    for k in range(series.shape[2]):
        used = course.used[:, k]
        mean = mean * fade[:, k, None]
        variance = noise.lasting**2 + (variance - noise.lasting**2) * fade[:, k] ** 2
        total = variance + white[:, k]
        surprise = np.where(used[:, None], series[:, :, k] - mean, 0.0)
        out[:, :, k] = surprise / np.sqrt(total)[:, None]
        gain = np.where(used, variance / total, 0.0)
        mean = mean + gain[:, None] * surprise
        variance = variance * (1.0 - gain)
        log_sum += float(np.log(total[used]).sum())
    return out, log_sum


def lasting_part(noise: LastingNoise, course: Course, deviation: Array) -> tuple[Array, Array]:
    """The part of deviations (sweeps, points) that lasts, and its variance, from all points.

    The filter forward, then the smoother backward (H. E. Rauch, F. Tung and C. T. Striebel,
    AIAA J. 3 (1965) 1445-1450).
    """
    white = noise.white**2 + noise.voltage**2 * course.steepness
    gaps = np.abs(np.diff(course.voltage, axis=1, prepend=course.voltage[:, :1]))
    fade = np.exp(-gaps / noise.length)
    mean, variance = np.zeros(deviation.shape), np.empty(deviation.shape)
    before = np.empty(deviation.shape)
    m, p = np.zeros(len(deviation)), np.full(len(deviation), noise.lasting**2)
    points = deviation.shape[1]
    for k in range(points):
        m, p = m * fade[:, k], noise.lasting**2 + (p - noise.lasting**2) * fade[:, k] ** 2
        before[:, k] = p
        gain = np.where(course.used[:, k], p / (p + white[:, k]), 0.0)
        m, p = m + gain * (deviation[:, k] - m), p * (1.0 - gain)
        mean[:, k], variance[:, k] = m, p
    for k in range(points - 2, -1, -1):
        back = variance[:, k] * fade[:, k + 1] / before[:, k + 1]
        mean[:, k] += back * (mean[:, k + 1] - fade[:, k + 1] * mean[:, k])
        variance[:, k] += back**2 * (variance[:, k + 1] - before[:, k + 1])
    return mean, variance


def estimate_lasting(
    deviation: Array, course: Course, near: LastingNoise | None = None
) -> LastingNoise:
    """The most likely noise for deviations in current (sweeps, points), sought from `near`."""
    size = float(np.sqrt(np.mean(deviation[course.used & (course.steepness < 1.0)] ** 2)))
    size = max(size, 1e-12)
    span = float(np.ptp(course.voltage[course.used]))

    def noise(logs: Array) -> LastingNoise:
        lasting, length, white, voltage = np.exp(logs)
        return LastingNoise(
            size * lasting, span * length, size * max(white, SMALLEST_SHARE), size * voltage
        )

    def unlikeliness(logs: Array) -> float:
        if np.any(np.abs(logs) > 14.0):
            return 1e300
        white, log_sum = whiten(noise(logs), course, deviation[:, None, :])
        return 0.5 * (float(np.sum(white**2)) + log_sum)

    starts = [[0.7, 0.3, 0.7, 0.5], [1.0, 0.7, 0.05, 0.5]]
    if near is not None:
        parts = (near.lasting / size, near.length / span, near.white / size, near.voltage / size)
        starts = [[max(part, 1e-4) for part in parts]]
    found = [
        minimize(
            unlikeliness,
            np.log(start),
            method="Nelder-Mead",
            options={"maxfev": 120, "xatol": 0.03, "fatol": 0.3},
        )
        for start in starts
    ]
    return noise(min(found, key=lambda one: one.fun).x)

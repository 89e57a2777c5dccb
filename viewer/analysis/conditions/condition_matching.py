"""Readings of a separate log at the times of traces: nearest or interpolated."""

from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray

Array = NDArray[np.float64]
Method = Literal["nearest", "interpolated"]


@dataclass(frozen=True, eq=False)
class MatchedReadings:
    """For each time asked: the reading, NaN where none is near enough, and how far it lay.

    distance [s]: of the reading used; of the farther neighbour where two were interpolated.
    """

    values: Array
    distance: Array


def readings_at(
    times: ArrayLike,
    log_times: ArrayLike,
    log_values: ArrayLike,
    tolerance: float,
    method: Method = "interpolated",
) -> MatchedReadings:
    """The log's reading at each time.

    times, log_times [s] on one clock, shapes (n,) and (m,), the log in any order. tolerance
    [s]: a reading farther away is not used. Interpolated needs a reading within the tolerance
    on both sides, or one at the very time.
    """
    wanted = np.asarray(times, dtype=float)
    when, what = np.asarray(log_times, dtype=float), np.asarray(log_values, dtype=float)
    good = np.isfinite(when) & np.isfinite(what)
    if not good.any():
        return MatchedReadings(np.full(wanted.shape, np.nan), np.full(wanted.shape, np.inf))
    order = np.argsort(when[good], kind="stable")
    when, what = when[good][order], what[good][order]
    after = np.clip(np.searchsorted(when, wanted), 0, when.size - 1)
    before = np.clip(np.where(when[after] > wanted, after - 1, after), 0, when.size - 1)
    if method == "nearest":
        closer = np.abs(when[after] - wanted) < np.abs(when[before] - wanted)
        nearest = np.where(closer, after, before)
        return _within(what[nearest], np.abs(when[nearest] - wanted), tolerance)
    distance = np.maximum(np.abs(when[after] - wanted), np.abs(when[before] - wanted))
    outside = (wanted < when[0]) | (wanted > when[-1])
    values = np.where(outside, np.nan, np.interp(wanted, when, what))
    return _within(values, np.where(np.isfinite(wanted), distance, np.inf), tolerance)


def _within(values: Array, distance: Array, tolerance: float) -> MatchedReadings:
    near = distance <= tolerance
    return MatchedReadings(np.where(near, values, np.nan), distance)

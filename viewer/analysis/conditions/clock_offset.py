"""How much the tracer's clock was off the log's, from currents that follow irradiance.

The short-circuit current of a string is nearly in proportion to irradiance (IEC 60891). With
the right offset, current over logged irradiance is the same for all traces of equal strings;
with a wrong one it scatters as the sun moved in between. The offset with the least scatter is
taken, and an interval from how fast the scatter grows around it.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from viewer.analysis.conditions.condition_matching import readings_at
from viewer.physics.nomenclature import counted

Array = NDArray[np.float64]

LEAST_TRACES = 6
LEAST_IRRADIANCE = 50.0
"""W/m²; below, offsets of the pyranometer weigh too much."""
MOST_DEVIATION = 0.1
FINEST = 0.5
"""Seconds between offsets tried around the best; clocks are read to the second."""
WIDEST = 120.0
"""Seconds of half interval beyond which the offset is called undetermined."""


@dataclass(frozen=True)
class ClockOffset:
    """`seconds` to add to the tracer's times to get the log's; None if it cannot be told.

    low, high: 95 % interval. scatter_before, scatter_after: standard deviation of current
    over irradiance, relative, with no offset and with this one. reason: one sentence.
    """

    seconds: float | None
    low: float
    high: float
    scatter_before: float
    scatter_after: float
    reason: str


def estimate_clock_offset(
    times: ArrayLike,
    i_sc: ArrayLike,
    log_times: ArrayLike,
    log_irradiance: ArrayLike,
    groups: Sequence[object] | None = None,
    widest_search: float = 7200.0,
    step: float = 5.0,
) -> ClockOffset:
    """The offset from many traces' times [s] and short-circuit currents [A].

    log_times [s], log_irradiance [W/m²] of the log. groups: one label for each trace; within
    a group the strings are equal (same module type and number in parallel), None for all.
    The search goes `widest_search` seconds either way in steps of `step`.
    """
    when, current = np.asarray(times, dtype=float), np.asarray(i_sc, dtype=float)
    usable = np.isfinite(when) & np.isfinite(current) & (current > 0)
    labels = np.unique([str(g) for g in groups], return_inverse=True)[1] if groups else None
    member = np.zeros(when.shape, dtype=np.intp) if labels is None else labels
    when, current, member = when[usable], current[usable], member[usable]
    if when.size < LEAST_TRACES:
        return _unknown(f"{counted(when.size, 'dated trace')}: too few; {LEAST_TRACES} are needed.")
    gap = _usual_gap(np.asarray(log_times, dtype=float))

    def scatters(offsets: Array) -> Array:
        logs = np.log(current)
        return np.array(
            [_scatter(when + o, logs, member, log_times, log_irradiance, gap) for o in offsets]
        )

    offsets = np.arange(-widest_search, widest_search + step / 2, step)
    scatter = scatters(offsets)
    if not np.isfinite(scatter).any():
        return _unknown("the log and the traces do not overlap in time.")
    best = offsets[int(np.nanargmin(scatter))]
    fine = np.arange(best - 2 * step, best + 2 * step + FINEST / 2, FINEST)
    every = np.unique(np.concatenate([offsets, fine]))
    return _chosen(every, scatters(every), when.size - np.unique(member).size - 1)


def _unknown(reason: str) -> ClockOffset:
    return ClockOffset(None, np.nan, np.nan, np.nan, np.nan, f"No clock offset: {reason}")


def _usual_gap(log_times: Array) -> float:
    steps = np.diff(np.sort(log_times[np.isfinite(log_times)]))
    steps = steps[steps > 0]
    return 2.0 * float(np.median(steps)) if steps.size else 0.0


def _scatter(
    when: Array,
    log_current: Array,
    member: NDArray[np.intp],
    log_times: ArrayLike,
    log_irradiance: ArrayLike,
    gap: float,
) -> float:
    """Mean square of ln(current / irradiance) about each group's median; NaN if few overlap.

    Deviations count up to MOST_DEVIATION only, so that a shaded string does not decide; a
    trace that falls outside the log counts as much, so that leaving some out is no gain.
    """
    irradiance = readings_at(when, log_times, log_irradiance, gap).values
    good = irradiance > LEAST_IRRADIANCE
    if good.sum() < max(LEAST_TRACES, 0.8 * when.size):
        return float("nan")
    ratio = log_current[good] - np.log(irradiance[good])
    deviation = np.empty_like(ratio)
    for group in np.unique(member[good]):
        own = member[good] == group
        deviation[own] = ratio[own] - np.median(ratio[own])
    counted = np.clip(deviation, -MOST_DEVIATION, MOST_DEVIATION) ** 2
    outside = (when.size - counted.size) * MOST_DEVIATION**2
    return float((counted.sum() + outside) / when.size)


def _chosen(offsets: Array, scatter: Array, freedom: int) -> ClockOffset:
    best = int(np.nanargmin(scatter))
    least = scatter[best]
    zero = float(scatter[int(np.argmin(np.abs(offsets)))])
    inside = scatter <= least * (1.0 + 4.0 / max(freedom, 1)) + 1e-12
    low, high = float(offsets[inside].min()), float(offsets[inside].max())
    before, after = float(np.sqrt(zero)), float(np.sqrt(least))
    seconds = float(offsets[best])
    if best in (0, len(offsets) - 1) or high - low > 2 * WIDEST:
        reason = f"irradiance moved too little: {low:.0f} to {high:.0f} s fit about equally well."
        return ClockOffset(None, low, high, before, after, f"No clock offset: {reason}")
    reason = (
        f"With {seconds:+.0f} s (95 % interval {low:+.0f} to {high:+.0f} s) added to the traces' "
        f"times, current over irradiance scatters {100 * after:.1f} % instead of "
        f"{100 * before:.1f} %."
    )
    return ClockOffset(seconds, low, high, before, after, reason)

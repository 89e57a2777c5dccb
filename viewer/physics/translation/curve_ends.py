"""The two ends of a curve: where they are, and a little more curve beyond them.

Procedures 1, 3 and 4 add the same current to every point, so a curve moved to higher
irradiance no longer reaches open circuit unless it was measured beyond it. A field sweep
seldom is; the missing stretch is then drawn after the diode law, fitted to the part of the
curve nearest open circuit.

Limits without a source are judgement.
"""

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
Mask = NDArray[np.bool_]

STRETCH_POINTS = 24
"""Points drawn from the last measured one to far beyond Voc; the diode law is smooth there."""

END_POINTS = 4
"""Points drawn from the last measured one to Voc alone."""

DIODE_SHARE = 0.5
"""Currents below this share of Isc decide the stretch beyond Voc."""

SHUNT_SHARE = 0.15
FEWEST = 5
"""The slope at short circuit is that of the first points over this share of the voltage range,
and of no fewer than FEWEST."""

STEEPEST = 0.25
"""A slope that would lose more than this share of Isc up to Voc is a step, not a shunt."""


def line_through(x: Array, y: Array, chosen: Mask) -> tuple[Array, Array]:
    """Least-squares intercept and slope of y against x over the last axis where `chosen`.

    Slope 0 where fewer than two different x are chosen.
    """
    weight = chosen.astype(float)
    x, y = np.where(chosen, x, 0.0), np.where(chosen, y, 0.0)
    count = np.maximum(weight.sum(-1), 1.0)
    mean_x, mean_y = x.sum(-1) / count, y.sum(-1) / count
    spread = weight * (x - mean_x[..., None])
    square = (spread**2).sum(-1)
    slope = np.divide((spread * y).sum(-1), square, out=np.zeros_like(square), where=square > 1e-18)
    return mean_y - slope * mean_x, slope


def crossing(x: Array, y: Array) -> Array:
    """x where y falls through zero, by a straight line between points; shape without last axis.

    Points in order of x; NaN points are passed over by giving them to the end of the axis.
    Where y never reaches zero, the line through the last two points is followed.
    """
    good = np.isfinite(x) & np.isfinite(y)
    if not good.all():
        order = np.argsort(~good, axis=-1, kind="stable")
        x, y = np.take_along_axis(x, order, -1), np.take_along_axis(y, order, -1)
        good = np.take_along_axis(good, order, -1)
    last = np.maximum(good.sum(-1) - 1, 1)
    below = (y <= 0.0) & good
    below[..., 0] = False
    right = np.where(below.any(-1), below.argmax(-1), last)[..., None]
    x_1, x_0 = np.take_along_axis(x, right, -1), np.take_along_axis(x, right - 1, -1)
    y_1, y_0 = np.take_along_axis(y, right, -1), np.take_along_axis(y, right - 1, -1)
    step = y_0 - y_1
    share = np.divide(y_0, step, out=np.ones_like(step), where=step != 0.0)
    return (x_0 + share * (x_1 - x_0))[..., 0]


def begun_at(voltage: Array, current: Array, i_sc: Array) -> tuple[Array, Array]:
    """The curves with their points up to 0 V replaced by the one point (0 V, i_sc [A])."""
    with np.errstate(invalid="ignore"):
        before = voltage <= 0.0
    start = i_sc[..., None]
    return (
        np.concatenate([np.zeros_like(start), np.where(before, np.nan, voltage)], axis=-1),
        np.concatenate([start, np.where(before, np.nan, current)], axis=-1),
    )


def ended_at(voltage: Array, current: Array, v_oc: Array) -> tuple[Array, Array]:
    """The curves with their points from v_oc [V] on replaced by the one point (v_oc, 0 A).

    A curve whose v_oc is NaN keeps its points and gets a NaN instead.
    """
    known = np.isfinite(v_oc)[..., None]
    with np.errstate(invalid="ignore"):
        beyond = (voltage >= v_oc[..., None]) | ((current <= 0.0) & known)
    return (
        np.concatenate([np.where(beyond, np.nan, voltage), v_oc[..., None]], axis=-1),
        np.concatenate([np.where(beyond, np.nan, current), np.where(known, 0.0, np.nan)], axis=-1),
    )


def short_circuit(voltage: Array, current: Array) -> Array:
    """Current at 0 V: the straight line through the first points."""
    return line_through(voltage, current, first_points(voltage, current))[0]


def slope_at_start(voltage: Array, current: Array) -> Array:
    """-dI/dV [S] at short circuit: of the line through the first points, never below zero."""
    _, slope = line_through(voltage, current, first_points(voltage, current))
    good = np.isfinite(voltage) & np.isfinite(current)
    top = np.max(np.where(good, voltage, -np.inf), axis=-1)
    most = np.max(np.where(good, current, -np.inf), axis=-1)
    steepest = np.where(top > 0.0, STEEPEST * most / np.where(top > 0.0, top, 1.0), 0.0)
    return np.clip(-slope, 0.0, np.maximum(steepest, 0.0))


def first_points(voltage: Array, current: Array) -> Mask:
    """The points that a line at short circuit is drawn through."""
    good = np.isfinite(voltage) & np.isfinite(current)
    low = np.min(np.where(good, voltage, np.inf), axis=-1, keepdims=True)
    top = np.max(np.where(good, voltage, -np.inf), axis=-1, keepdims=True)
    rank = np.cumsum(good, axis=-1)
    reach = np.maximum(low, 0.0) + SHUNT_SHARE * np.maximum(top, 0.0)
    return good & ((voltage <= reach) | (rank <= FEWEST))


def beyond_open_circuit(
    voltage: Array,
    current: Array,
    i_sc: Array,
    resistance_series: Array,
    reach: Array,
    points: int = STRETCH_POINTS,
) -> tuple[Array, Array]:
    """Points that carry each curve on from its last one down to the current `-reach` [A].

    V + Rs I is a straight line against ln(Isc - I) under the diode law; slope and level are
    taken from the points below half of Isc and the stretch begins at the last of them. NaN for
    a curve with fewer than three such points, and where the curve already reaches that far.
    Shapes: curves (..., points), the rest (...); returns (..., `points`).
    """
    good = np.isfinite(voltage) & np.isfinite(current)
    last_current = np.min(np.where(good, current, np.inf), axis=-1)
    # Isc of the curve slightly raised, so that the logarithm exists at every chosen point
    scale = (1.001 * i_sc)[..., None]
    rs = resistance_series[..., None]
    chosen = good & (current < DIODE_SHARE * i_sc[..., None])
    logarithm = np.log(np.maximum(scale - current, 1e-9 * scale))
    level, slope = line_through(logarithm, voltage + rs * current, chosen)
    steps = np.linspace(0.0, 1.0, points + 1)[1:]
    end = np.minimum(-reach, last_current)
    drawn = last_current[..., None] + steps * (end - last_current)[..., None]
    drawn_voltage = (
        level[..., None] + slope[..., None] * np.log(np.maximum(scale - drawn, 1e-9)) - rs * drawn
    )
    useful = (chosen.sum(-1) >= 3) & (end < last_current)
    return (
        np.where(useful[..., None], drawn_voltage, np.nan),
        np.where(useful[..., None], drawn, np.nan),
    )

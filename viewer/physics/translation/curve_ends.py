"""The two ends of a curve: where they are, and a little more curve beyond them.

Procedures 1, 3 and 4 add the same current to every point, so a curve moved to higher
irradiance no longer reaches open circuit unless it was measured beyond it. A field sweep
seldom is; the missing stretch is then drawn after the diode law, fitted to the part of the
curve nearest open circuit.
"""

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
Mask = NDArray[np.bool_]

STRETCH_POINTS = 24
"""Points drawn beyond Voc; the diode law is smooth there."""

DIODE_SHARE = 0.5
"""Currents below this share of Isc decide the stretch beyond Voc."""

SHUNT_SHARE = 0.1
"""Voltages below this share of Voc decide the slope at short circuit."""


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
    order = np.argsort(~good, axis=-1, kind="stable")
    x, y = np.take_along_axis(x, order, -1), np.take_along_axis(y, order, -1)
    last = np.maximum(good.sum(-1) - 1, 1)
    below = (y <= 0.0) & np.take_along_axis(good, order, -1)
    below[..., 0] = False
    right = np.where(below.any(-1), below.argmax(-1), last)[..., None]
    x_1, x_0 = np.take_along_axis(x, right, -1), np.take_along_axis(x, right - 1, -1)
    y_1, y_0 = np.take_along_axis(y, right, -1), np.take_along_axis(y, right - 1, -1)
    step = y_0 - y_1
    share = np.divide(y_0, step, out=np.ones_like(step), where=step != 0.0)
    return (x_0 + share * (x_1 - x_0))[..., 0]


def short_circuit(voltage: Array, current: Array) -> Array:
    """Current at 0 V: the straight line through the points near short circuit."""
    chosen = near_short_circuit(voltage, current)
    return line_through(voltage, current, chosen)[0]


def near_short_circuit(voltage: Array, current: Array) -> Mask:
    """The points that a line at short circuit is drawn through (at least three, if there are)."""
    good = np.isfinite(voltage) & np.isfinite(current)
    top = np.max(np.where(good, voltage, -np.inf), axis=-1, keepdims=True)
    rank = np.cumsum(good, axis=-1)
    return good & ((voltage <= SHUNT_SHARE * top) | (rank <= 3))


def beyond_open_circuit(
    voltage: Array, current: Array, i_sc: Array, resistance_series: Array, reach: Array
) -> tuple[Array, Array]:
    """Points that carry each curve on from its last one down to the current `-reach` [A].

    V + Rs I is a straight line against ln(Isc - I) under the diode law; slope and level are
    taken from the points below half of Isc and the stretch begins at the last of them.
    Shapes: curves (..., points), the rest (...); returns (..., STRETCH_POINTS).
    """
    good = np.isfinite(voltage) & np.isfinite(current)
    last_current = np.min(np.where(good, current, np.inf), axis=-1)
    # Isc of the curve slightly raised, so that the logarithm exists at every chosen point
    scale = (1.001 * i_sc)[..., None]
    rs = resistance_series[..., None]
    chosen = good & (current < DIODE_SHARE * i_sc[..., None])
    logarithm = np.log(np.maximum(scale - current, 1e-9 * scale))
    level, slope = line_through(logarithm, voltage + rs * current, chosen)
    steps = np.linspace(0.0, 1.0, STRETCH_POINTS + 1)[1:]
    end = np.minimum(-reach, last_current)
    drawn = last_current[..., None] + steps * (end - last_current)[..., None]
    drawn_voltage = (
        level[..., None] + slope[..., None] * np.log(np.maximum(scale - drawn, 1e-9)) - rs * drawn
    )
    return drawn_voltage, drawn

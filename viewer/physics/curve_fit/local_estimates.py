"""Key points where the sweep itself decides: the fitted curve, corrected near each point.

What the fitted curve misses is smooth but for steps, so a short polynomial through the
deviations near a key point takes the misfit away (a parametric start corrected locally:
I. K. Glad, Scand. J. Statist. 25 (1998) 649-668). Of several spans around the point the widest
is used in which the polynomial still agrees with the noise and with the narrower spans
(O. V. Lepski, Theory Probab. Appl. 35 (1991) 454-466).
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from viewer.physics.curve_fit.fitted_points import (
    FILL,
    I_MP,
    I_SC,
    P_MP,
    SLOPE_OC,
    SLOPE_SC,
    V_MP,
    V_OC,
    FittedPoints,
)
from viewer.physics.curve_fit.local_polynomial import Correction, Deviations, correct
from viewer.physics.curve_fit.scaled_diode import LOG_A, column, evaluate, place_at
from viewer.physics.curve_fit.sweep_batch import SweepBatch, rows_of
from viewer.physics.curve_fit.whole_sweep import FittedSweeps

Array = NDArray[np.float64]
Rows = NDArray[np.int64]

SPANS_AT_ISC = (0.06, 0.1, 0.16, 0.25, 0.4)
"""Of the voltage at maximum power."""
SPANS_AT_MAXIMUM = (0.012, 0.02, 0.033, 0.05, 0.075, 0.11, 0.16, 0.22)
"""Of the voltage at maximum power, to either side."""
FIRST_SPAN = (0.05,)
SPANS_AT_VOC = (0.1, 0.17, 0.28, 0.42, 0.6)
"""Of the short-circuit current."""
PLACES = 25


def local_points(
    result: FittedSweeps,
    guide: FittedPoints,
    widest_at_maximum: float = np.inf,
    ends: tuple[Rows, Rows] | None = None,
) -> FittedPoints:
    """The values of `guide` corrected by what the sweep shows near each of them.

    widest_at_maximum: bound on the span around the maximum power point, for curves whose
    shape a single diode cannot follow far. ends: the rows whose Isc and the rows whose Voc are
    wanted; all when not given.
    """
    values, covariance = guide.values.copy(), np.zeros_like(guide.covariance)
    every = np.arange(len(values))
    with_isc, with_voc = ends or (every, every)
    for correction, rows in ((_short_circuit, with_isc), (_open_circuit, with_voc)):
        part, part_covariance = values[rows], covariance[rows]
        correction(rows_of(result, rows), rows_of(guide, rows), part, part_covariance)
        values[rows], covariance[rows] = part, part_covariance
    with np.errstate(all="ignore"):  # a sweep without power has its maximum nowhere
        _maximum_power(result, guide, values, covariance, widest_at_maximum)
    # the fitted curve's own uncertainty from noise stays under the correction
    noise = (result.noise.current / np.maximum(result.noise.misfit, 1e-300)) ** 2
    noise = np.minimum(noise, 1.0) / result.noise.repetition
    covariance += guide.covariance * noise[:, None, None] * np.eye(8)
    with np.errstate(all="ignore"):  # a sweep without current has no fill factor
        values[:, FILL] = values[:, P_MP] / (values[:, I_SC] * values[:, V_OC])
        relative = sum(covariance[:, k, k] / values[:, k] ** 2 for k in (P_MP, I_SC, V_OC))
        covariance[:, FILL, FILL] = values[:, FILL] ** 2 * relative
    return FittedPoints(values, covariance, guide.places)


def _units(result: FittedSweeps) -> tuple[Array, Array]:
    return result.batch.v_unit[:, 0], result.batch.i_unit[:, 0]


def _short_circuit(
    result: FittedSweeps, guide: FittedPoints, values: Array, covariance: Array
) -> None:
    batch, state = result.batch, result.fitted.state
    v_unit, i_unit = _units(result)
    v_mp = np.maximum(guide.values[:, V_MP] / v_unit, 1e-3)[:, None]
    first = np.where(batch.used, batch.voltage, np.inf).min(axis=1, keepdims=True)
    begin = np.maximum(first, 0.0)
    missed = Deviations(
        batch.voltage,
        result.fitted.deviation / state.stretch,
        result.fitted.spread / state.stretch,
        batch.used,
        np.abs(batch.voltage - begin) / v_mp,
        result.noise.current,
    )
    fit = correct(missed, np.zeros_like(begin), SPANS_AT_ISC, terms=2)
    values[:, I_SC] += fit.coefficients[:, 0] * i_unit
    covariance[:, I_SC, I_SC] = fit.covariance[:, 0, 0] * i_unit**2
    ohm = v_unit / i_unit
    slope = ohm / values[:, SLOPE_SC] + fit.coefficients[:, 1]
    slope = np.where(np.abs(slope) > 1e-9, slope, 1e-9)
    values[:, SLOPE_SC] = ohm / slope
    covariance[:, SLOPE_SC, SLOPE_SC] = ohm**2 / slope**4 * fit.covariance[:, 1, 1]


def _open_circuit(
    result: FittedSweeps, guide: FittedPoints, values: Array, covariance: Array
) -> None:
    batch, state = result.batch, result.fitted.state
    v_unit, i_unit = _units(result)
    i_sc = np.maximum(guide.values[:, I_SC] / i_unit, 1e-3)[:, None]
    last = np.where(batch.used, batch.current, np.inf).min(axis=1, keepdims=True)
    begin = np.maximum(last, 0.0)
    steep = np.maximum(state.conductance, 0.02)
    missed = Deviations(
        batch.current,
        result.fitted.deviation / steep,
        result.fitted.spread / steep,
        batch.used,
        np.abs(batch.current - begin) / i_sc,
        result.noise.current,
    )
    fit = correct(missed, np.zeros_like(begin), SPANS_AT_VOC, terms=2)
    values[:, V_OC] += fit.coefficients[:, 0] * v_unit
    covariance[:, V_OC, V_OC] = fit.covariance[:, 0, 0] * v_unit**2
    ohm = v_unit / i_unit
    values[:, SLOPE_OC] += fit.coefficients[:, 1] * ohm
    covariance[:, SLOPE_OC, SLOPE_OC] = fit.covariance[:, 1, 1] * ohm**2


def _maximum_power(
    result: FittedSweeps,
    guide: FittedPoints,
    values: Array,
    covariance: Array,
    widest: float,
) -> None:
    """The correction shifts the maximum, so it is centred anew once."""
    batch, state = result.batch, result.fitted.state
    v_unit, i_unit = _units(result)
    centre = (guide.values[:, V_MP] / v_unit)[:, None]
    place = guide.places[:, 1]
    above, width = (x / state.stretch for x in (result.fitted.deviation, result.fitted.spread))
    for spans in (FIRST_SPAN, tuple(span for span in SPANS_AT_MAXIMUM if span <= widest)):
        distance = np.abs(batch.voltage - centre) / np.abs(centre)
        missed = Deviations(batch.voltage, above, width, batch.used, distance, result.noise.current)
        fit = correct(missed, centre, spans, terms=3)
        top = _top_of_power(result, fit, place, centre)
        centre, place = top.voltage[:, None], top.x
    t = top.voltage - top.centre
    powers = np.stack([np.ones_like(t), t, t**2], axis=1)
    slopes = np.stack([np.zeros_like(t), np.ones_like(t), 2.0 * t], axis=1)
    v = top.voltage[:, None]
    on_v = -(powers + v * slopes) / top.bend[:, None]
    on_i = powers - (top.current / top.voltage)[:, None] * on_v
    _fill(values, covariance, V_MP, top.voltage, on_v, fit.covariance, v_unit)
    _fill(values, covariance, I_MP, top.current, on_i, fit.covariance, i_unit)
    power = top.voltage * top.current
    _fill(values, covariance, P_MP, power, v * powers, fit.covariance, v_unit * i_unit)


def _fill(
    values: Array, covariance: Array, which: int, value: Array, by: Array, of: Array, unit: Array
) -> None:
    values[:, which] = value * unit
    covariance[:, which, which] = np.einsum("nk,nkl,nl->n", by, of, by) * unit**2


@dataclass(frozen=True, eq=False)
class _Top:
    x: Array
    voltage: Array
    current: Array
    bend: Array
    centre: Array


def _top_of_power(result: FittedSweeps, fit: Correction, place: Array, centre: Array) -> _Top:
    """Maximum of the corrected curve's power within the span: the best of a row of voltages,
    of two finer rows around it, then a parabola through the best three."""
    unknowns = result.fitted.unknowns
    middle = centre[:, 0]
    lowest, highest = _ends(result.batch)
    reach = np.minimum(fit.span, 0.15) * np.abs(middle)
    for _ in range(3):
        voltage = middle[:, None] + np.linspace(-1.0, 1.0, PLACES) * reach[:, None]
        power, places = _corrected_power(unknowns, fit, voltage, place, centre)
        power = np.where((voltage >= lowest) & (voltage <= highest), power, _NOWHERE)
        best = np.clip(np.argmax(power, axis=1), 1, PLACES - 2)
        rows = np.arange(len(best))
        middle, place = voltage[rows, best], places[rows, best]
        reach = reach * (3.0 / PLACES)
    v, p = (np.stack([x[rows, best + k] for k in (-1, 0, 1)], axis=1) for x in (voltage, power))
    rise = np.diff(p, axis=1) / np.diff(v, axis=1)
    bend = np.minimum(2.0 * (rise[:, 1] - rise[:, 0]) / (v[:, 2] - v[:, 0]), -1e-6)
    slope = rise[:, 0] + 0.5 * bend * (v[:, 1] - v[:, 0])
    top_v = np.clip(v[:, 1] - slope / bend, v[:, 0], v[:, 2])
    step = top_v - v[:, 1]
    top = p[:, 1] + slope * step + 0.5 * bend * step**2
    return _Top(place, top_v, top / top_v, bend, centre[:, 0])


_NOWHERE = -1e3


def _ends(batch: SweepBatch) -> tuple[Array, Array]:
    """Lowest and highest voltage of each sweep, (sweeps, 1)."""
    lowest = np.where(batch.used, batch.voltage, np.inf).min(axis=1, keepdims=True)
    highest = np.where(batch.used, batch.voltage, -np.inf).max(axis=1, keepdims=True)
    return lowest, highest


def _corrected_power(
    unknowns: Array, fit: Correction, voltage: Array, place: Array, centre: Array
) -> tuple[Array, Array]:
    """Power of the corrected curve at `voltage` (sweeps, points), and the diode voltages there.

    place: diode voltage at the middle of the row, from which the others are sought.
    """
    state = evaluate(unknowns, place[:, None])
    start = place[:, None] + (voltage - state.voltage) / state.stretch
    start = np.minimum(start, place[:, None] + 2.0 * np.exp(column(unknowns, LOG_A)))
    x = place_at(unknowns, voltage, start, 10)
    t = voltage - centre
    c = fit.coefficients
    current = evaluate(unknowns, x).current + column(c, 0) + (column(c, 1) + column(c, 2) * t) * t
    return voltage * current, x

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
from viewer.physics.curve_fit.least_squares import symmetric_inverse
from viewer.physics.curve_fit.scaled_diode import LOG_A, column, evaluate, place_at
from viewer.physics.curve_fit.whole_sweep import FittedSweeps

Array = NDArray[np.float64]

SPANS_AT_ISC = (0.06, 0.1, 0.16, 0.25, 0.4)
"""Of the voltage at maximum power."""
SPANS_AT_MAXIMUM = (0.012, 0.02, 0.033, 0.05, 0.075, 0.11, 0.16, 0.22)
"""Of the voltage at maximum power, to either side."""
SPANS_AT_VOC = (0.1, 0.17, 0.28, 0.42, 0.6)
"""Of the short-circuit current."""
MARGIN = 2.2
"""Standard deviations around each span's estimate within which all narrower ones must agree."""
CHANCE = 3.0
"""Standard deviations that scatter or likeness within a span may exceed the expected by."""
DOUBT = 0.5
"""Share of the change from span to span that counts as a standard uncertainty."""
PLACES = 25


@dataclass(frozen=True, eq=False)
class _Correction:
    """Polynomial in (place - centre): `coefficients` (sweeps, terms), `covariance`, `span`."""

    coefficients: Array
    covariance: Array
    span: Array


def local_points(
    result: FittedSweeps, guide: FittedPoints, widest_at_maximum: float = np.inf
) -> FittedPoints:
    """The values of `guide` corrected by what the sweep shows near each of them.

    widest_at_maximum: bound on the span around the maximum power point, for curves whose
    shape a single diode cannot follow far.
    """
    values, covariance = guide.values.copy(), np.zeros_like(guide.covariance)
    units = _UnitScales.of(result)
    _short_circuit(result, guide, units, values, covariance)
    _open_circuit(result, guide, units, values, covariance)
    _maximum_power(result, guide, units, values, covariance, widest_at_maximum)
    # the fitted curve's own uncertainty from noise stays under the correction
    noise = (result.noise.current / np.maximum(result.noise.misfit, 1e-300)) ** 2
    noise = np.minimum(noise, 1.0) / result.noise.repetition
    covariance += guide.covariance * noise[:, None, None] * np.eye(8)
    values[:, FILL] = values[:, P_MP] / (values[:, I_SC] * values[:, V_OC])
    relative = sum(covariance[:, k, k] / values[:, k] ** 2 for k in (P_MP, I_SC, V_OC))
    covariance[:, FILL, FILL] = values[:, FILL] ** 2 * relative
    return FittedPoints(values, covariance, guide.places)


@dataclass(frozen=True, eq=False)
class _UnitScales:
    v: Array
    i: Array

    @classmethod
    def of(cls, result: FittedSweeps) -> "_UnitScales":
        return cls(result.batch.v_unit[:, 0], result.batch.i_unit[:, 0])


def _short_circuit(
    result: FittedSweeps, guide: FittedPoints, units: _UnitScales, values: Array, covariance: Array
) -> None:
    batch, state = result.batch, result.fitted.state
    v_mp = np.maximum(guide.values[:, V_MP] / units.v, 1e-3)[:, None]
    first = np.where(batch.used, batch.voltage, np.inf).min(axis=1, keepdims=True)
    begin = np.maximum(first, 0.0)
    fit = _correct(
        result,
        batch.voltage,
        result.fitted.deviation / state.stretch,
        result.fitted.spread / state.stretch,
        np.zeros_like(begin),
        np.abs(batch.voltage - begin) / v_mp,
        SPANS_AT_ISC,
        terms=2,
    )
    values[:, I_SC] += fit.coefficients[:, 0] * units.i
    covariance[:, I_SC, I_SC] = fit.covariance[:, 0, 0] * units.i**2
    ohm = units.v / units.i
    slope = ohm / values[:, SLOPE_SC] + fit.coefficients[:, 1]
    slope = np.where(np.abs(slope) > 1e-9, slope, 1e-9)
    values[:, SLOPE_SC] = ohm / slope
    covariance[:, SLOPE_SC, SLOPE_SC] = ohm**2 / slope**4 * fit.covariance[:, 1, 1]


def _open_circuit(
    result: FittedSweeps, guide: FittedPoints, units: _UnitScales, values: Array, covariance: Array
) -> None:
    batch, state = result.batch, result.fitted.state
    i_sc = np.maximum(guide.values[:, I_SC] / units.i, 1e-3)[:, None]
    last = np.where(batch.used, batch.current, np.inf).min(axis=1, keepdims=True)
    begin = np.maximum(last, 0.0)
    steep = np.maximum(state.conductance, 0.02)
    fit = _correct(
        result,
        batch.current,
        result.fitted.deviation / steep,
        result.fitted.spread / steep,
        np.zeros_like(begin),
        np.abs(batch.current - begin) / i_sc,
        SPANS_AT_VOC,
        terms=2,
    )
    values[:, V_OC] += fit.coefficients[:, 0] * units.v
    covariance[:, V_OC, V_OC] = fit.covariance[:, 0, 0] * units.v**2
    ohm = units.v / units.i
    values[:, SLOPE_OC] += fit.coefficients[:, 1] * ohm
    covariance[:, SLOPE_OC, SLOPE_OC] = fit.covariance[:, 1, 1] * ohm**2


def _maximum_power(
    result: FittedSweeps,
    guide: FittedPoints,
    units: _UnitScales,
    values: Array,
    covariance: Array,
    widest: float,
) -> None:
    """The correction shifts the maximum, so it is centred anew once."""
    batch, state = result.batch, result.fitted.state
    centre = (guide.values[:, V_MP] / units.v)[:, None]
    place = guide.places[:, 1]
    for _ in range(2):
        fit = _correct(
            result,
            batch.voltage,
            result.fitted.deviation / state.stretch,
            result.fitted.spread / state.stretch,
            centre,
            np.abs(batch.voltage - centre) / np.abs(centre),
            tuple(span for span in SPANS_AT_MAXIMUM if span <= widest),
            terms=3,
        )
        top = _top_of_power(result, fit, place, centre)
        centre, place = top.voltage[:, None], top.x
    t = top.voltage - top.centre
    powers = np.stack([np.ones_like(t), t, t**2], axis=1)
    slopes = np.stack([np.zeros_like(t), np.ones_like(t), 2.0 * t], axis=1)
    v = top.voltage[:, None]
    on_v = -(powers + v * slopes) / top.bend[:, None]
    on_i = powers - (top.current / top.voltage)[:, None] * on_v
    _fill(values, covariance, V_MP, top.voltage, on_v, fit.covariance, units.v)
    _fill(values, covariance, I_MP, top.current, on_i, fit.covariance, units.i)
    power = top.voltage * top.current
    _fill(values, covariance, P_MP, power, v * powers, fit.covariance, units.v * units.i)


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


def _top_of_power(result: FittedSweeps, fit: _Correction, place: Array, centre: Array) -> _Top:
    """Maximum of the corrected curve's power within the span: the best of a row of voltages,
    of two finer rows around it, then a parabola through the best three."""
    unknowns = result.fitted.unknowns
    middle = centre[:, 0]
    reach = np.minimum(fit.span, 0.15) * np.abs(middle)
    for _ in range(3):
        voltage = middle[:, None] + np.linspace(-1.0, 1.0, PLACES) * reach[:, None]
        power, places = _corrected_power(unknowns, fit, voltage, place, centre)
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


def _corrected_power(
    unknowns: Array, fit: _Correction, voltage: Array, place: Array, centre: Array
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


def _correct(
    result: FittedSweeps,
    place: Array,
    above: Array,
    width: Array,
    centre: Array,
    distance: Array,
    spans: tuple[float, ...],
    terms: int,
) -> _Correction:
    """The polynomial of `above` around `centre` over the widest span that may be believed.

    Its covariance includes doubt from how far it moved when the span was widened last.
    """
    used = result.batch.used
    noise = result.noise.current
    nearest = np.sort(np.where(used, distance, np.inf), axis=1)
    chosen: _Correction | None = None
    going_on = np.ones(len(place), dtype=bool)
    low, high = np.full(len(place), -np.inf), np.full(len(place), np.inf)
    for number, span in enumerate(spans):
        fewest = min(max(terms + 2 * number, 3 if terms == 3 else 4), nearest.shape[1]) - 1
        reach = np.maximum(span, nearest[:, fewest] * (1.0 + 1e-12))
        reach = np.where(np.isfinite(reach), reach, span)
        weight = (used & (distance <= reach[:, None])) / width
        fit, believable = _polynomial(place - centre, above, weight, noise, terms, reach)
        value, margin = fit.coefficients[:, 0], MARGIN * np.sqrt(fit.covariance[:, 0, 0])
        low, high = np.maximum(low, value - margin), np.minimum(high, value + margin)
        going_on &= (low <= high) & believable
        chosen = fit if chosen is None else _where(going_on, fit, chosen)
    assert chosen is not None
    return chosen


def _polynomial(
    t: Array, above: Array, weight: Array, noise: Array, terms: int, reach: Array
) -> tuple[_Correction, NDArray[np.bool_]]:
    """Weighted least squares for each sweep, and whether what is left looks like the noise."""
    size = np.max(np.abs(np.where(weight > 0, t, 0.0)), axis=1, keepdims=True)
    size = np.maximum(size, 1e-9)
    basis = np.stack([(t / size) ** k for k in range(terms)], axis=1) * weight[:, None, :]
    target = above * weight
    matrix = basis @ basis.swapaxes(1, 2)
    # too few points for all terms leave the highest ones at nothing
    total = np.trace(matrix, axis1=1, axis2=2)
    matrix[:, range(terms), range(terms)] += 1e-10 * np.maximum(total, 1e-30)[:, None]
    inverse = symmetric_inverse(matrix)
    right = (basis @ target[:, :, None])[..., 0]
    coefficients = (inverse @ right[..., None])[..., 0]
    left = target - np.einsum("nkp,nk->np", basis, coefficients)
    count = np.count_nonzero(weight > 0, axis=1)
    freedom = np.maximum(count - terms, 1)
    square = np.einsum("np,np->n", left, left)
    alike = np.einsum("np,np->n", left[:, 1:], left[:, :-1]) / np.maximum(square, 1e-300)
    chance = 1.0 / np.sqrt(np.maximum(count, 1))
    ratio = square / freedom / noise**2
    believable = (ratio < 1.3 + CHANCE * np.sqrt(2.0 / freedom)) & (alike < CHANCE * chance)
    alike = np.clip(np.where(alike > 2.0 * chance, alike, 0.0), 0.0, 0.9)
    level = noise**2 * np.maximum(ratio, 1.0) * (1.0 + alike) / (1.0 - alike)
    scale = size ** -np.arange(terms, dtype=float)
    covariance = inverse * scale[:, :, None] * scale[:, None, :] * level[:, None, None]
    return _Correction(coefficients * scale, covariance, reach), believable


def _where(choose: NDArray[np.bool_], first: _Correction, second: _Correction) -> _Correction:
    shift = np.abs(first.coefficients - second.coefficients)
    doubt = first.covariance + np.eye(shift.shape[1]) * (shift[:, None, :] * DOUBT) ** 2
    return _Correction(
        np.where(choose[:, None], first.coefficients, second.coefficients),
        np.where(choose[:, None, None], doubt, second.covariance),
        np.where(choose, first.span, second.span),
    )

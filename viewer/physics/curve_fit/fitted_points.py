"""Key points and end slopes of fitted curves, with their covariance from the fit."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from viewer.physics.curve_fit.scaled_diode import LOG_A, G, PointState, R, column, evaluate
from viewer.physics.curve_fit.whole_sweep import FittedSweeps

Array = NDArray[np.float64]

I_SC, V_OC, I_MP, V_MP, P_MP, FILL, SLOPE_SC, SLOPE_OC = range(8)
"""Columns of the values: six key points, then dV/dI at short and at open circuit."""

_STEPS = 12
_DIFFERENCE = 1e-5


@dataclass(frozen=True, eq=False)
class FittedPoints:
    """`values` (sweeps, 8) in A, V, W and ohm and their `covariance` (sweeps, 8, 8);
    `places` (sweeps, 3): diode voltages at Isc, at Pmp and at Voc in the batch's units.
    """

    values: Array
    covariance: Array
    places: Array


def fitted_points(result: FittedSweeps) -> FittedPoints:
    """Values from the fitted curves; noise and its repetition decide the covariance."""
    unknowns = result.fitted.unknowns
    places = find_places(unknowns)
    values = _values(unknowns, places)
    slopes = _derivatives(unknowns, places)
    variance = result.noise.misfit**2 * result.noise.repetition
    covariance = slopes @ result.fitted.inverse @ slopes.swapaxes(1, 2) * variance[:, None, None]
    units = _units(result)
    return FittedPoints(values * units, covariance * units[:, :, None] * units[:, None, :], places)


def _derivatives(unknowns: Array, places: Array) -> Array:
    """Central differences of the values by the unknowns, (sweeps, 8, 5), all at once."""
    steps = _DIFFERENCE * np.concatenate([np.eye(5), -np.eye(5)])
    moved = (unknowns[:, None, :] + steps).reshape(-1, 5)
    # near the place a few Newton steps are exact to rounding
    found = find_places(moved, np.repeat(places, 10, axis=0), 3)
    values = _values(moved, found).reshape(-1, 10, 8)
    return (values[:, :5] - values[:, 5:]).swapaxes(1, 2) / (2 * _DIFFERENCE)


def find_places(unknowns: Array, start: Array | None = None, steps: int = _STEPS) -> Array:
    """Diode voltages at Isc, Pmp and Voc, (sweeps, 3)."""
    a = np.exp(unknowns[:, LOG_A])
    r = unknowns[:, R]
    if start is None:
        open_circuit = _start_at_open_circuit(unknowns, a)
        start = np.stack([r * unknowns[:, 0], 0.85 * open_circuit, open_circuit], axis=1)
    x = start.copy()
    for _ in range(steps):
        s = evaluate(unknowns, x)
        bend = s.diode / a[:, None] ** 2
        value = np.stack([s.voltage[:, 0], _power_slope(s)[:, 1], s.current[:, 2]], axis=1)
        power_bend = (
            column(unknowns, R) * bend * s.current
            - 2.0 * s.stretch * s.conductance
            - s.voltage * bend
        )
        slope = np.stack([s.stretch[:, 0], power_bend[:, 1], -s.conductance[:, 2]], axis=1)
        change = value / np.where(np.abs(slope) > 1e-12, slope, 1e-12)
        x = x - np.clip(change, -2.0 * a[:, None], 2.0 * a[:, None])
    return x


def _start_at_open_circuit(unknowns: Array, a: Array) -> Array:
    """Where the diode alone takes the photocurrent; the shunt only lowers it."""
    alone = 1.0 + a * (np.log(np.maximum(unknowns[:, 0], 1e-9)) - unknowns[:, 2])
    shunt = unknowns[:, 0] / np.maximum(unknowns[:, G], 1e-9)
    return np.maximum(np.minimum(alone, shunt), 0.05)


def _power_slope(s: PointState) -> Array:
    return s.stretch * s.current - s.voltage * s.conductance


def _values(unknowns: Array, places: Array) -> Array:
    s = evaluate(unknowns, places)
    out = np.empty((len(unknowns), 8))
    out[:, I_SC] = s.current[:, 0]
    out[:, V_OC] = s.voltage[:, 2]
    out[:, I_MP] = s.current[:, 1]
    out[:, V_MP] = s.voltage[:, 1]
    out[:, P_MP] = out[:, I_MP] * out[:, V_MP]
    out[:, FILL] = out[:, P_MP] / np.maximum(out[:, I_SC] * out[:, V_OC], 1e-12)
    steep = np.where(np.abs(s.conductance) > 1e-12, s.conductance, 1e-12)
    out[:, SLOPE_SC] = -s.stretch[:, 0] / steep[:, 0]
    out[:, SLOPE_OC] = -s.stretch[:, 2] / steep[:, 2]
    return out


def _units(result: FittedSweeps) -> Array:
    v, i = result.batch.v_unit[:, 0], result.batch.i_unit[:, 0]
    return np.stack([i, v, i, v, v * i, np.ones_like(v), v / i, v / i], axis=1)

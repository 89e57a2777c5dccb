"""The single-diode equation in units of one sweep, in a form that is well conditioned.

With the diode voltage x as parameter (J. W. Bishop, Solar Cells 25 (1988) 73-89)

    i(x) = p - g x - exp((x - 1) / a + d) + exp(-1 / a + d),    v(x) = x - r i(x)

where voltages are in units of about Voc and currents in units of about Isc, so that all five
unknowns are of order one. The saturation current, which spans thirty powers of ten, appears as
d, the logarithm of the diode current at x = 1, where the sweep determines it best.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from viewer.physics.curve_fit.sweep_batch import SweepBatch
from viewer.physics.single_diode import DiodeParameters

Array = NDArray[np.float64]

P, G, D, LOG_A, R = range(5)
"""Columns of the unknowns: photocurrent, shunt conductance, d, log a, series resistance."""

LARGEST_EXPONENT = 60.0


@dataclass(frozen=True, eq=False)
class PointState:
    """The model at the diode voltages `x`: (sweeps, points) each.

    conductance: -di/dx; stretch: dv/dx; diode: current through the diode (without its -1).
    """

    x: Array
    current: Array
    voltage: Array
    diode: Array
    diode_at_zero: Array
    conductance: Array
    stretch: Array


def column(unknowns: Array, which: int) -> Array:
    """One unknown as a column (sweeps, 1), ready to meet points."""
    return unknowns[:, which, None]


def evaluate(unknowns: Array, x: Array) -> PointState:
    """The model for `unknowns` (sweeps, 5) at diode voltages `x` (sweeps, points)."""
    inverse_a = np.exp(-column(unknowns, LOG_A))
    d = column(unknowns, D)
    r = column(unknowns, R)
    g = column(unknowns, G)
    exponent = x - 1.0
    exponent *= inverse_a
    exponent += d
    diode = np.exp(np.minimum(exponent, LARGEST_EXPONENT, out=exponent), out=exponent)
    at_zero = np.exp(np.minimum(d - inverse_a, LARGEST_EXPONENT))
    conductance = diode * inverse_a
    conductance += g
    current = column(unknowns, P) + at_zero - g * x
    current -= diode
    return PointState(
        x, current, x - r * current, diode, at_zero, conductance, 1.0 + r * conductance
    )


def deviation(state: PointState, batch: SweepBatch) -> Array:
    """How far each measured point lies above the curve, at first order exact.

    Divided by `stretch` it is a deviation in current, divided by `conductance` one in voltage.
    """
    above = batch.current - state.current
    above *= state.stretch
    above += (batch.voltage - state.voltage) * state.conductance
    return above


def spread(state: PointState, voltage_share: Array) -> Array:
    """Standard deviation of `deviation` for noise 1 in current, `voltage_share` in voltage."""
    return np.sqrt(state.stretch**2 + (voltage_share * state.conductance) ** 2)


def current_at(unknowns: Array, voltage: Array, x: Array, steps: int = 8) -> Array:
    """Current of the curve at `voltage` (sweeps, points), from diode voltages `x` near it."""
    return evaluate(unknowns, place_at(unknowns, voltage, x, steps)).current


def place_at(unknowns: Array, voltage: Array, x: Array, steps: int) -> Array:
    """Diode voltages where the curve has `voltage`, by `steps` of Newton's method from `x`."""
    longest = 2.0 * np.exp(column(unknowns, LOG_A))
    for _ in range(steps):
        state = evaluate(unknowns, x)
        x = x + np.clip((voltage - state.voltage) / state.stretch, -longest, longest)
    return x


def sensitivities(unknowns: Array, state: PointState) -> Array:
    """Derivatives of the curve by the unknowns, (sweeps, 5, points), to go with `deviation`."""
    inverse_a = np.exp(-column(unknowns, LOG_A))
    out = np.empty((len(unknowns), 5, state.x.shape[1]))
    out[:, P] = 1.0
    np.negative(state.x, out=out[:, G])
    np.subtract(state.diode_at_zero, state.diode, out=out[:, D])
    np.multiply(state.diode, (state.x - 1.0) * inverse_a, out=out[:, LOG_A])
    out[:, LOG_A] += state.diode_at_zero * inverse_a
    np.multiply(state.conductance, state.current, out=out[:, R])
    np.negative(out[:, R], out=out[:, R])
    return out


def to_parameters(unknowns: Array, batch: SweepBatch) -> DiodeParameters:
    """The five parameters in A, ohm and V; an infinite shunt resistance where g is not positive."""
    v_unit, i_unit = batch.v_unit[:, 0], batch.i_unit[:, 0]
    a = np.exp(unknowns[:, LOG_A])
    g = unknowns[:, G]
    with np.errstate(divide="ignore"):
        shunt = np.where(g > 0, 1.0 / np.maximum(g, 0.0), np.inf)
    return DiodeParameters.of(
        unknowns[:, P] * i_unit,
        np.exp(unknowns[:, D] - 1.0 / a) * i_unit,
        unknowns[:, R] * v_unit / i_unit,
        shunt * v_unit / i_unit,
        a * v_unit,
    )


def parameter_derivatives(unknowns: Array, batch: SweepBatch) -> Array:
    """Derivatives of the five parameters (rows) by the unknowns (columns), (sweeps, 5, 5).

    Rows in the order of DiodeParameters; the shunt resistance's row is by g and infinite at g = 0.
    """
    v_unit, i_unit = batch.v_unit[:, 0], batch.i_unit[:, 0]
    a = np.exp(unknowns[:, LOG_A])
    saturation = np.exp(unknowns[:, D] - 1.0 / a) * i_unit
    out = np.zeros((len(unknowns), 5, 5))
    out[:, 0, P] = i_unit
    out[:, 1, D] = saturation
    out[:, 1, LOG_A] = saturation / a
    out[:, 2, R] = v_unit / i_unit
    with np.errstate(divide="ignore"):
        out[:, 3, G] = -v_unit / i_unit / np.maximum(unknowns[:, G], 0.0) ** 2
    out[:, 4, LOG_A] = a * v_unit
    return out

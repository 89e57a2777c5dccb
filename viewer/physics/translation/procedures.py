"""Procedures 1, 2 and 4 of IEC 60891:2021: one measured curve moved to other conditions.

Equations are written from memory of the standard and from the papers named with each.
Indices: 1 the measured curve, 2 the translated one; dT = T2 - T1; temperatures of cells.
"""

from collections.abc import Callable
from dataclasses import dataclass
from types import MappingProxyType

import numpy as np
from numpy.typing import ArrayLike, NDArray

from viewer.physics.conditions import IRRADIANCE_REF, TEMPERATURE_REF, kelvin
from viewer.physics.translation.corrections import Corrections
from viewer.physics.translation.curve_ends import (
    END_POINTS,
    STRETCH_POINTS,
    begun_at,
    beyond_open_circuit,
    crossing,
    ended_at,
    short_circuit,
    slope_at_start,
)

Array = NDArray[np.float64]

PROCEDURES = MappingProxyType(
    {
        1: "IEC 60891:2021 procedure 1 (currents shifted, internal resistance and kappa)",
        2: "IEC 60891:2021 procedure 2 (currents in proportion, voltage by Voc of irradiance)",
        3: "IEC 60891:2021 procedure 3 (interpolation between measured curves)",
        4: "IEC 60891:2021 procedure 4 (diode law, one temperature constant for all points)",
    }
)


@dataclass(frozen=True, eq=False)
class TranslatedCurve:
    """A curve at other conditions than it was measured at.

    voltage [V] rising and current [A], (points,) from 0 V to open circuit; of a batch
    (..., points), where points outside that range are NaN. i_sc [A] and v_oc [V] (...).
    """

    voltage: Array
    current: Array
    i_sc: Array
    v_oc: Array
    poa_global: Array
    temperature_cell: Array
    procedure: str
    """The procedure in words, with where its factors come from."""
    remarks: tuple[str, ...] = ()

    def curve(self, index: int | tuple[int, ...] = ()) -> tuple[Array, Array]:
        """Voltage and current of one curve of a batch, from (0 V, Isc) to (Voc, 0 A)."""
        v, i = self.voltage[index], self.current[index]
        return _from_end_to_end(v, i, self.i_sc[index], self.v_oc[index])


@dataclass(frozen=True, eq=False)
class _Move:
    """One step of conditions for a batch of curves; arrays (..., 1) beside (..., points)."""

    g_1: Array
    g_2: Array
    t_1: Array
    t_2: Array
    i_sc: Array
    """Of the measured curves."""

    @property
    def rise(self) -> Array:
        return self.t_2 - self.t_1


def translate(
    voltage: ArrayLike,
    current: ArrayLike,
    *,
    poa_global: ArrayLike,
    temperature_cell: ArrayLike,
    corrections: Corrections,
    to_poa_global: ArrayLike = IRRADIANCE_REF,
    to_temperature_cell: ArrayLike = TEMPERATURE_REF,
    procedure: int = 2,
    i_sc: ArrayLike | None = None,
    v_oc: ArrayLike | None = None,
) -> TranslatedCurve:
    """Move measured curves from their conditions to others (STC unless said otherwise).

    voltage [V], current [A]: (..., points) in order of rising voltage, NaN where a batch's
    curve has fewer points. poa_global, to_poa_global [W/m²], temperature_cell,
    to_temperature_cell [°C] and the values in `corrections` broadcast to (...).
    i_sc [A], v_oc [V]: of the measured curves, when they are known better than a line through
    the points near 0 V and the diode law through those near open circuit tell; NaN where not.
    procedure: 1, 2 or 4; see `PROCEDURES`. Number 3 needs two measured curves and is
    `interpolation.interpolate`. Raises ValueError for any other. Conditions that cannot be (NaN,
    irradiance not above zero) give NaN.
    """
    if procedure not in _STEPS:
        raise ValueError(f"Procedure {procedure} does not translate one curve; choose 1, 2 or 4.")
    v, i = np.asarray(voltage, dtype=float), np.asarray(current, dtype=float)
    shape = v.shape[:-1]
    short = short_circuit(v, i)
    if i_sc is not None:
        short = np.where(np.isfinite(i_sc), i_sc, short)
    v, i = begun_at(v, i, short)
    if v_oc is not None:
        v, i = ended_at(v, i, np.broadcast_to(np.asarray(v_oc, dtype=float), shape))
    given = (poa_global, to_poa_global, temperature_cell, to_temperature_cell, short)
    move = _Move(*(np.broadcast_to(np.asarray(x, dtype=float), shape)[..., None] for x in given))
    with np.errstate(divide="ignore", invalid="ignore", over="ignore"):
        v_2, i_2 = _STEPS[procedure](v, i, move, corrections)
    words = PROCEDURES[procedure] + (f"; {corrections.source}" if corrections.source else "")
    return finished(v_2, i_2, move.g_2[..., 0], move.t_2[..., 0], words)


def _wide(value: ArrayLike) -> Array:
    return np.asarray(value, dtype=float)[..., None]


def _stretched(v: Array, i: Array, shift: Array, move: _Move, c: Corrections) -> tuple[Array, ...]:
    """The curve with a stretch beyond Voc long enough for a current `shift` [A] upwards."""
    shape = v.shape[:-1]
    reach = np.broadcast_to(np.maximum(shift[..., 0], 0.0) * 1.05, shape)
    rs = np.broadcast_to(np.asarray(c.resistance_series, dtype=float), shape)
    points = STRETCH_POINTS if np.any(reach > 0.0) else END_POINTS
    more_v, more_i = beyond_open_circuit(v, i, move.i_sc[..., 0], rs, reach, points)
    return np.concatenate([v, more_v], axis=-1), np.concatenate([i, more_i], axis=-1)


def _shift(move: _Move, c: Corrections) -> Array:
    """Current that procedures 1 and 4 add to every point, A."""
    alpha = _wide(c.alpha_sc) * _wide(c.i_sc)
    return move.i_sc * (move.g_2 / move.g_1 - 1.0) + alpha * move.rise * move.g_2 / IRRADIANCE_REF


def procedure_1(v: Array, i: Array, move: _Move, c: Corrections) -> tuple[Array, Array]:
    """I2 = I1 + Isc1 (G2/G1 - 1) + alpha dT;  V2 = V1 - Rs (I2 - I1) - kappa I2 dT + beta dT.

    alpha [A/K] is taken at the target irradiance, in proportion to it.
    """
    shift = _shift(move, c)
    v, i = _stretched(v, i, shift, move, c)
    i_2 = i + shift
    beta = _wide(c.beta_voc) * _wide(c.v_oc)
    drop = _wide(c.first.resistance_series) * shift
    v_2 = v - drop - _wide(c.first.kappa) * i_2 * move.rise + beta * move.rise
    return v_2, i_2


def procedure_2(v: Array, i: Array, move: _Move, c: Corrections) -> tuple[Array, Array]:
    """The form of 2021, with T' = T - 25 °C and f(G) = b2 ln²(1000/G) + b1 ln(1000/G) + 1:

    I2 = I1 (G2/G1) (1 + alpha T2') / (1 + alpha T1')
    V2 = V1 - (Rs + kappa T1') (I2 - I1) - kappa I2 dT
         + Voc,STC (beta (f(G2) T2' - f(G1) T1') + 1/f(G2) - 1/f(G1))
    """
    v, i = _stretched(v, i, np.zeros_like(move.rise), move, c)
    above_1, above_2 = move.t_1 - TEMPERATURE_REF, move.t_2 - TEMPERATURE_REF
    alpha, beta = _wide(c.alpha_sc), _wide(c.beta_voc)
    i_2 = i * (move.g_2 / move.g_1) * (1.0 + alpha * above_2) / (1.0 + alpha * above_1)
    f_1, f_2 = voc_factor(move.g_1, c), voc_factor(move.g_2, c)
    kappa = _wide(c.second.kappa)
    resistance = _wide(c.second.resistance_series) + kappa * above_1
    open_circuit = beta * (f_2 * above_2 - f_1 * above_1) + 1.0 / f_2 - 1.0 / f_1
    v_2 = v - resistance * (i_2 - i) - kappa * i_2 * move.rise + _wide(c.v_oc) * open_circuit
    return v_2, i_2


def voc_factor(poa_global: Array, c: Corrections) -> Array:
    """f(G) of procedure 2: Voc at 1000 W/m² over Voc at G, both at 25 °C; shapes (..., 1)."""
    logarithm = np.log(IRRADIANCE_REF / poa_global)
    return _wide(c.b_2) * logarithm**2 + _wide(c.b_1) * logarithm + 1.0


def procedure_4(v: Array, i: Array, move: _Move, c: Corrections) -> tuple[Array, Array]:
    """Diode law at constant diode current (Hishikawa and others 2018, see corrections).

    I2 = I1 + Isc1 (G2/G1 - 1) + alpha dT;  with Vd1 = V1 + Rs I1 the voltage at the junctions
    V2 = Vd1 + (dT / T1) (Vd1 - N n Eg/q) - Rs I2,  T1 in kelvin, N cells in series.
    """
    shift = _shift(move, c)
    v, i = _stretched(v, i, shift, move, c)
    rs = _wide(c.resistance_series)
    i_2 = i + shift
    junction = v + rs * i
    gap = _wide(c.cells_in_series) * _wide(c.band_gap_voltage)
    return junction + (move.rise / kelvin(move.t_1)) * (junction - gap) - rs * i_2, i_2


Step = Callable[[Array, Array, _Move, Corrections], tuple[Array, Array]]
_STEPS: dict[int, Step] = {1: procedure_1, 2: procedure_2, 4: procedure_4}


def finished(v: Array, i: Array, poa: Array, temperature: Array, words: str) -> TranslatedCurve:
    """The translated points cut to 0 V ... Voc, with its ends found.

    The first point is short circuit's, moved; the curve's own slope there leads back to 0 V.
    """
    i_sc = i[..., 0] + slope_at_start(v, i) * v[..., 0]
    v_oc = crossing(v, i)
    inside = (v > 0.0) & (i >= 0.0) & (v <= v_oc[..., None])
    if v.ndim == 1:
        v, i = _from_end_to_end(v[inside], i[inside], i_sc, v_oc)
    else:
        v, i = np.where(inside, v, np.nan), np.where(inside, i, np.nan)
        v[..., 0], i[..., 0] = 0.0, i_sc
    return TranslatedCurve(v, i, i_sc, v_oc, poa, temperature, words)


def _from_end_to_end(v: Array, i: Array, i_sc: Array, v_oc: Array) -> tuple[Array, Array]:
    between = (v > 0.0) & (i > 0.0) & (v < v_oc)
    return (
        np.concatenate([[0.0], v[between], [v_oc]]),
        np.concatenate([[i_sc], i[between], [0.0]]),
    )

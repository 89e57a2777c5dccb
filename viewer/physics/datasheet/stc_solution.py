"""The single-diode parameters that pass exactly through a datasheet's points at STC.

Given nNsVth = a, four conditions remain for four unknowns: the curve passes through (0, i_sc),
(v_mp, i_mp) and (v_oc, 0), and power is greatest at (v_mp, i_mp). The first three are linear in
the saturation current and the shunt conductance once the series resistance is known; with
e(x) = exp((x - v_oc) / a), j = saturation_current exp(v_oc / a) and G = 1/resistance_shunt

    j (1 - e(x_sc)) + G (v_oc - x_sc) = i_sc,      x_sc = i_sc rs
    j (1 - e(x_mp)) + G (v_oc - x_mp) = i_mp,      x_mp = v_mp + i_mp rs

so that one root in rs is left: that of g (v_mp - i_mp rs) - i_mp with g = j e(x_mp)/a + G.
It rises through zero once between rs = 0 and rs = (v_oc - v_mp)/i_mp, unless it is above zero
already at rs = 0: then no positive series resistance exists for this a.

Larger a gives smaller resistance in series and smaller conductance in parallel, so each
datasheet has a largest a that physics allows; `largest_feasible` finds it.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from viewer.physics.root_finding import falling_root
from viewer.physics.single_diode import DiodeParameters

Array = NDArray[np.float64]

ROUNDING = 1e-13
"""Step, over the largest series resistance, below which the power condition is only noise."""


@dataclass(frozen=True, eq=False)
class StcPoints:
    """i_sc, i_mp [A] and v_oc, v_mp [V] of modules, arrays of one shape."""

    i_sc: Array
    v_oc: Array
    i_mp: Array
    v_mp: Array

    def __getitem__(self, index: NDArray[np.bool_] | NDArray[np.intp]) -> "StcPoints":
        return StcPoints(self.i_sc[index], self.v_oc[index], self.i_mp[index], self.v_mp[index])


def solve_points(points: StcPoints, a: Array) -> DiodeParameters:
    """Parameters through the points at diode voltage scale `a` = nNsVth [V].

    Series resistance is 0 where only a negative one would do; the shunt resistance is negative
    or infinite where `a` is above what physics allows. Callers keep `a` feasible.
    """
    highest = (points.v_oc - points.v_mp) / points.i_mp * (1.0 - 1e-9)

    def falling(rs: Array) -> tuple[Array, Array]:
        return _power_condition(points, a, rs)

    rs = falling_root(falling, np.zeros_like(highest), highest, 0.5 * highest, ROUNDING)
    j, conductance = _linear_unknowns(points, a, rs)
    saturation = j * np.exp(-points.v_oc / a)
    photocurrent = (
        points.i_sc + saturation * np.expm1(points.i_sc * rs / a) + points.i_sc * rs * conductance
    )
    with np.errstate(divide="ignore"):
        shunt = 1.0 / conductance
    return DiodeParameters.of(photocurrent, saturation, rs, shunt, a)


def largest_feasible(points: StcPoints, high: Array, series: Array, shunt: Array) -> Array:
    """The largest a = nNsVth [V] up to `high` that leaves room for real resistances.

    At that a the series resistance is at least `series` [ohm] and the shunt conductance at least
    `shunt` [S]: both fall as a grows, so each sets a limit and the lower one holds.
    """
    return np.minimum(
        high,
        np.minimum(_limit_by_shunt(points, shunt), _limit_by_series(points, series, high)),
    )


def _limit_by_shunt(points: StcPoints, conductance: Array) -> Array:
    """The a at which the shunt conductance is just `conductance` [S].

    With G known the first two conditions give e(x_mp), hence a, in closed form for each series
    resistance (e(x_sc), of the order 1e-10, is left out); the power condition leaves one root.
    Where it has none the value at zero series resistance is returned, the largest there is.
    """
    i_sc, v_oc, i_mp, v_mp = points.i_sc, points.v_oc, points.i_mp, points.v_mp

    def terms(rs: Array) -> tuple[Array, Array, Array]:
        j = i_sc - conductance * (v_oc - i_sc * rs)
        through = i_mp - conductance * (v_oc - v_mp - i_mp * rs)
        e_mp = 1.0 - through / j
        return j, e_mp, (v_mp + i_mp * rs - v_oc) / np.log(e_mp)

    def falling(rs: Array) -> tuple[Array, Array]:
        j, e_mp, a = terms(rs)
        d_e = (-conductance * i_mp + (1.0 - e_mp) * conductance * i_sc) / j
        d_a = (i_mp - a * d_e / e_mp) / np.log(e_mp)
        junction = j * e_mp / a
        g = junction + conductance
        d_g = junction * (conductance * i_sc / j + d_e / e_mp - d_a / a)
        lever = v_mp - i_mp * rs
        return i_mp - g * lever, -d_g * lever + g * i_mp

    highest = (v_oc - v_mp) / i_mp * (1.0 - 1e-9)
    rs = falling_root(falling, np.zeros_like(highest), highest, 0.3 * highest, tolerance=1e-10)
    return terms(rs)[2]


def _limit_by_series(points: StcPoints, rs: Array, high: Array) -> Array:
    """The a at which the series resistance is just `rs` [ohm], or `high` if that is lower."""

    def falling(a: Array) -> tuple[Array, Array]:
        here, step = _power_condition(points, a, rs)[0], 1e-6 * a
        return here, (_power_condition(points, a + step, rs)[0] - here) / step

    return falling_root(falling, 0.02 * points.v_oc, high, 0.5 * high, 1e-10)


def _linear_unknowns(points: StcPoints, a: Array, rs: Array) -> tuple[Array, Array]:
    """j and G of the two linear conditions at series resistance `rs`."""
    x_sc, x_mp = points.i_sc * rs, points.v_mp + points.i_mp * rs
    one_less_sc = -np.expm1((x_sc - points.v_oc) / a)
    one_less_mp = -np.expm1((x_mp - points.v_oc) / a)
    det = one_less_sc * (points.v_oc - x_mp) - one_less_mp * (points.v_oc - x_sc)
    j = (points.i_sc * (points.v_oc - x_mp) - points.i_mp * (points.v_oc - x_sc)) / det
    return j, (one_less_sc * points.i_mp - one_less_mp * points.i_sc) / det


def _power_condition(points: StcPoints, a: Array, rs: Array) -> tuple[Array, Array]:
    """i_mp - g (v_mp - i_mp rs), which falls with rs, and its derivative."""
    i_sc, v_oc, i_mp, v_mp = points.i_sc, points.v_oc, points.i_mp, points.v_mp
    x_sc, x_mp = i_sc * rs, v_mp + i_mp * rs
    e_sc, e_mp = np.exp((x_sc - v_oc) / a), np.exp((x_mp - v_oc) / a)
    p, q = -np.expm1((x_sc - v_oc) / a), -np.expm1((x_mp - v_oc) / a)
    det = p * (v_oc - x_mp) - q * (v_oc - x_sc)
    dp, dq = -e_sc * i_sc / a, -e_mp * i_mp / a
    d_det = dp * (v_oc - x_mp) - p * i_mp - dq * (v_oc - x_sc) + q * i_sc
    j = (i_sc * (v_oc - x_mp) - i_mp * (v_oc - x_sc)) / det
    conductance = (p * i_mp - q * i_sc) / det
    d_conductance = (dp * i_mp - dq * i_sc - conductance * d_det) / det
    g = j * e_mp / a + conductance
    dg = j / det * -d_det * e_mp / a + j * e_mp * i_mp / a**2 + d_conductance
    lever = v_mp - i_mp * rs
    return i_mp - g * lever, -dg * lever + g * i_mp

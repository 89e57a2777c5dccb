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

    rs = falling_root(falling, np.zeros_like(highest), highest, 0.5 * highest)
    j, conductance = _linear_unknowns(points, a, rs)
    saturation = j * np.exp(-points.v_oc / a)
    photocurrent = (
        points.i_sc + saturation * np.expm1(points.i_sc * rs / a) + points.i_sc * rs * conductance
    )
    with np.errstate(divide="ignore"):
        shunt = 1.0 / conductance
    return DiodeParameters.of(photocurrent, saturation, rs, shunt, a)


def largest_feasible(
    points: StcPoints, low: Array, high: Array, series_share: float, shunt_share: float
) -> Array:
    """The largest a = nNsVth [V] between `low` and `high` with plausible resistances.

    Plausible: at maximum power the series resistance drops at least `series_share` of v_mp and
    the shunt carries at least `shunt_share` of i_sc. `low` where even that is not feasible.
    """

    def margin(a: Array) -> Array:
        p = solve_points(points, a)
        series = p.resistance_series * points.i_mp / points.v_mp - series_share
        shunt = points.v_mp / (p.resistance_shunt * points.i_sc) - shunt_share
        return np.minimum(series, shunt)

    def margin_and_slope(a: Array) -> tuple[Array, Array]:
        here, step = margin(a), 1e-6 * a
        return here, (margin(a + step) - here) / step

    root = falling_root(margin_and_slope, low, high, high, tolerance=1e-9)
    return np.where(margin(high) >= 0.0, high, root)


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

"""The five- and six-parameter models of the literature, beside the fit by technology.

Five parameters (W. De Soto, S. A. Klein and W. A. Beckman, Solar Energy 80 (2006) 78-88): the
band gap is that of the material, the diode factor does not drift, and the diode factor is
chosen so that the open-circuit voltage moves with beta_voc near 25 °C.

Six parameters (A. P. Dobos, J. Solar Energy Engineering 134 (2012) 021011, doi
10.1115/1.4005759): beta_voc (1 + x) and alpha_sc (1 - x) take the place of beta_voc and
alpha_sc, and x and the diode factor are chosen so that the power moves with gamma_pmp as well.

For each diode factor `stc_solution` gives the other parameters, so one root is left in either
case. It need not lie where resistances are positive (for a fifth of pvlib's CEC list it does
not); the diode factor then stops at the limit and the coefficient is missed.
"""

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from viewer.physics.datasheet.datasheet_columns import DatasheetColumns
from viewer.physics.datasheet.maximum_power import power_at_scale
from viewer.physics.datasheet.module_model import (
    BOLTZMANN,
    DESOTO_BAND_GAP_SLOPE,
    T_REF,
    ModuleModel,
)
from viewer.physics.datasheet.stc_solution import largest_feasible, solve_points
from viewer.physics.datasheet.temperature_fit import WARMER_BY
from viewer.physics.root_finding import falling_root
from viewer.physics.single_diode import DiodeParameters

Array = NDArray[np.float64]

NEAR_BY = 2.0
"""Step of temperature over which the five-parameter model meets beta_voc, K, as in pvlib's
`fit_desoto`; De Soto 2006 found no difference from 1 to 10 K."""

LEAST_SHARE = 1e-4
"""Least share of v_mp over the series and of i_sc through the shunt resistance."""

SMALLEST_SCALE = 0.25
"""Lowest diode factor tried, over the largest one with positive resistances."""


def fit_five_parameters(columns: DatasheetColumns) -> ModuleModel:
    """De Soto's model of each datasheet."""
    a = _root_in_scale(columns, _current_left)
    return _model(columns, solve_points(columns.points, a), columns.alpha_sc)


def fit_six_parameters(columns: DatasheetColumns) -> ModuleModel:
    """Dobos's model of each datasheet."""
    d = solve_points(columns.points, _root_in_scale(columns, _power_left))
    growth = _saturation_growth(columns, WARMER_BY)
    adjustment = _adjustment(columns, _adjusted_voltage(columns, d, growth))
    return _model(columns, d, columns.alpha_sc * (1.0 - adjustment))


def _current_left(columns: DatasheetColumns, a: Array) -> Array:
    """Current [A] at the warmer module's printed open-circuit voltage; falls as `a` grows."""
    d = solve_points(columns.points, a)
    v_oc = columns.points.v_oc + columns.beta_voc * NEAR_BY
    warm = a * (T_REF + NEAR_BY) / T_REF
    growth = _saturation_growth(columns, NEAR_BY)
    recombined = d.saturation_current * growth * np.expm1(v_oc / warm)
    light = d.photocurrent + columns.alpha_sc * NEAR_BY
    return light - recombined - v_oc / d.resistance_shunt


def _power_left(columns: DatasheetColumns, a: Array) -> Array:
    """Power [W] of the warmer module above the printed one; falls as `a` grows."""
    d, points = solve_points(columns.points, a), columns.points
    growth = _saturation_growth(columns, WARMER_BY)
    v_oc = _adjusted_voltage(columns, d, growth)
    warm = _warm(columns, d, growth, _adjustment(columns, v_oc))
    p_mp = points.i_mp * points.v_mp * (1.0 + columns.gamma_pmp * WARMER_BY)
    return power_at_scale(warm, v_oc)[0] - p_mp


def _root_in_scale(
    columns: DatasheetColumns, falling: Callable[[DatasheetColumns, Array], Array]
) -> Array:
    """The a = nNsVth [V] where the function crosses zero, or the nearer limit."""
    points = columns.points
    highest = largest_feasible(
        points,
        10.0 * columns.thermal_scale * columns.junctions,
        LEAST_SHARE * points.v_mp / points.i_mp,
        LEAST_SHARE * points.i_sc / points.v_mp,
    )
    lowest = SMALLEST_SCALE * highest
    below = falling(columns, lowest) <= 0.0
    a = np.where(below, lowest, highest)
    inside = np.flatnonzero(~below & (falling(columns, highest) < 0.0))
    if inside.size:
        a[inside] = _crossing(columns.chosen(inside), falling, lowest[inside], highest[inside])
    return a


def _crossing(
    columns: DatasheetColumns,
    falling: Callable[[DatasheetColumns, Array], Array],
    lowest: Array,
    highest: Array,
) -> Array:
    def value_and_slope(a: Array) -> tuple[Array, Array]:
        here, step = falling(columns, a), 1e-6 * a
        return here, (falling(columns, a + step) - here) / step

    return falling_root(value_and_slope, lowest, highest, 0.9 * highest, tolerance=1e-10)


def _saturation_growth(columns: DatasheetColumns, warmer: float) -> Array:
    """Saturation current at 25 °C and `warmer` K over that at 25 °C."""
    gap, t = columns.of_technology("band_gap"), T_REF + warmer
    warm_gap = gap * (1.0 + DESOTO_BAND_GAP_SLOPE * warmer)
    return (t / T_REF) ** 3 * np.exp((gap / T_REF - warm_gap / t) / BOLTZMANN)


def _adjusted_voltage(columns: DatasheetColumns, d: DiodeParameters, growth: Array) -> Array:
    """Open-circuit voltage [V] of the warm module whose x agrees with its own voltage."""
    a = d.nNsVth * (T_REF + WARMER_BY) / T_REF
    dark = d.saturation_current * growth
    per_volt = columns.alpha_sc / columns.beta_voc
    light = d.photocurrent + 2.0 * columns.alpha_sc * WARMER_BY

    def current_left(v: Array) -> tuple[Array, Array]:
        exponential = dark * np.exp(v / a)
        slope = -per_volt - 1.0 / d.resistance_shunt
        start = light + per_volt * columns.points.v_oc + dark
        return start + slope * v - exponential, slope - exponential / a

    highest = a * np.log1p(2.0 * d.photocurrent / dark)
    return falling_root(current_left, np.zeros_like(highest), highest, highest)


def _adjustment(columns: DatasheetColumns, v_oc: Array) -> Array:
    """x for which beta_voc (1 + x) leads to `v_oc` [V]."""
    return (v_oc - columns.points.v_oc) / (columns.beta_voc * WARMER_BY) - 1.0


def _warm(
    columns: DatasheetColumns, d: DiodeParameters, growth: Array, adjustment: Array
) -> DiodeParameters:
    return DiodeParameters(
        d.photocurrent + columns.alpha_sc * (1.0 - adjustment) * WARMER_BY,
        d.saturation_current * growth,
        d.resistance_series,
        d.resistance_shunt,
        d.nNsVth * (T_REF + WARMER_BY) / T_REF,
    )


def _model(columns: DatasheetColumns, d: DiodeParameters, alpha_sc: Array) -> ModuleModel:
    return ModuleModel.of(
        d,
        columns.cells_in_series,
        alpha_sc,
        columns.of_technology("band_gap"),
        band_gap_slope=DESOTO_BAND_GAP_SLOPE,
        activation_by_diode_factor=False,
    )

"""Band gap and drift of the diode factor that meet a datasheet's temperature coefficients.

At a warmer temperature T1 the coefficients say what v_oc and p_mp are. For a diode factor n1 at
T1 the saturation current follows from v_oc; p_mp falls as n1 grows, so one root gives n1, and
the growth of the saturation current then gives the band gap. Where n1 or the band gap leaves
its physical range it is held at the limit and the coefficient is met as closely as that allows.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from viewer.physics.datasheet.maximum_power import power_at_scale
from viewer.physics.datasheet.module_model import BOLTZMANN, T_REF
from viewer.physics.root_finding import falling_root
from viewer.physics.single_diode import DiodeParameters, exact_key_points

Array = NDArray[np.float64]

WARMER_BY = 30.0
"""Span over which the coefficients are met, K. IEC 60891 asks for one of at least 30 K."""

LARGEST_RISE = 0.006
"""Largest rise of the diode factor, relative, 1/K (judgement). It stands for everything that
rounds the knee of a warmer module, the growing resistance of its metal among it."""

LARGEST_FALL = 0.0033
"""Largest fall of the diode factor, relative, 1/K (judgement): 10 % over the span. It also ends
at the factor of an ideal diode."""

BAND_GAP_RANGE = (0.75, 1.33)
"""Allowed band gap over that of the technology (judgement): wide enough for the printed
coefficients of nearly all modules, and narrow enough to notice a mistaken one."""


@dataclass(frozen=True, eq=False)
class TemperatureFit:
    """band_gap [eV], diode_factor_slope [1/K]."""

    band_gap: Array
    diode_factor_slope: Array


def fit_temperature(
    reference: DiodeParameters,
    cells_in_series: Array,
    alpha_sc: Array,
    beta_voc: Array,
    gamma_pmp: Array,
    usual_band_gap: Array,
    ideal: Array,
) -> TemperatureFit:
    """Meet beta_voc [V/K] and gamma_pmp [1/K]; `alpha_sc` [A/K].

    usual_band_gap [eV] of the technology; ideal: the diode factor below which a drift does not
    lead, that is the number of junctions in a cell. Arrays of one shape.
    """
    t = T_REF + WARMER_BY
    scale = BOLTZMANN * t * cells_in_series
    n_ref = reference.nNsVth / (BOLTZMANN * T_REF * cells_in_series)
    key = exact_key_points(reference)
    v_oc = key["v_oc"] + beta_voc * WARMER_BY
    p_mp = key["p_mp"] * (1.0 + gamma_pmp * WARMER_BY)
    light = reference.photocurrent + alpha_sc * WARMER_BY
    junction = light - v_oc / reference.resistance_shunt

    def warm(n: Array) -> DiodeParameters:
        saturation = junction / np.expm1(v_oc / (n * scale))
        return DiodeParameters(
            light,
            saturation,
            reference.resistance_series,
            reference.resistance_shunt,
            n * scale,
        )

    def power_left(n: Array) -> tuple[Array, Array]:
        power, slope = power_at_scale(warm(n), v_oc)
        return power - p_mp, slope * scale

    lowest = np.maximum(np.minimum(n_ref, ideal), n_ref * (1.0 - LARGEST_FALL * WARMER_BY))
    highest = n_ref * (1.0 + LARGEST_RISE * WARMER_BY)
    n = falling_root(power_left, lowest, highest, 1.02 * n_ref, tolerance=1e-9)
    growth = np.log(warm(n).saturation_current / reference.saturation_current)
    drift = np.log(reference.photocurrent / reference.saturation_current) * (1.0 - n_ref / n)
    exponent = growth - drift - 3.0 * np.log(t / T_REF)
    gap = exponent * BOLTZMANN * n / (1.0 / T_REF - 1.0 / t)
    smallest, largest = (share * usual_band_gap for share in BAND_GAP_RANGE)
    return TemperatureFit(np.clip(gap, smallest, largest), (n - n_ref) / WARMER_BY)

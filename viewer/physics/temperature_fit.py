"""Band gap and drift of the diode factor that meet a datasheet's temperature coefficients.

At a warmer temperature T1 the coefficients say what v_oc and p_mp are. For a diode factor n1 at
T1 the saturation current follows from v_oc; p_mp falls as n1 grows, so one root gives n1, and
the growth of the saturation current then gives the band gap. Where n1 or the band gap leaves
its physical range it is held at the limit and the coefficient is met as closely as that allows.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from viewer.physics.conditions import TEMPERATURE_REF, kelvin
from viewer.physics.module_model import BOLTZMANN
from viewer.physics.root_finding import falling_root
from viewer.physics.single_diode import (
    DiodeParameters,
    exact_key_points,
)

Array = NDArray[np.float64]

WARMER_BY = 30.0
"""Span over which the coefficients are met, K. IEC 60891 asks for one of at least 30 K."""

LARGEST_DRIFT = 0.002
"""Largest change of the diode factor, relative, 1/K (judgement)."""

BAND_GAP_RANGE = (0.75, 1.30)
"""Allowed band gap over that of the technology (judgement)."""


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
) -> TemperatureFit:
    """Meet beta_voc [V/K] and gamma_pmp [1/K]; `alpha_sc` [A/K]; see the module's docstring."""
    t_ref, t = float(kelvin(TEMPERATURE_REF)), float(kelvin(TEMPERATURE_REF + WARMER_BY))
    scale = BOLTZMANN * t * cells_in_series
    n_ref = reference.nNsVth / (BOLTZMANN * t_ref * cells_in_series)
    key = exact_key_points(reference)
    v_oc = key["v_oc"] + beta_voc * WARMER_BY
    p_mp = key["p_mp"] * (1.0 + gamma_pmp * WARMER_BY)
    light = reference.photocurrent + alpha_sc * WARMER_BY

    def warm(n: Array) -> DiodeParameters:
        junction = light - v_oc / reference.resistance_shunt
        saturation = junction / np.expm1(v_oc / (n * scale))
        return DiodeParameters.of(
            light,
            saturation,
            reference.resistance_series,
            reference.resistance_shunt,
            n * scale,
        )

    def power_left(n: Array) -> tuple[Array, Array]:
        step = 1e-5 * n
        here = exact_key_points(warm(n))["p_mp"]
        return here - p_mp, (exact_key_points(warm(n + step))["p_mp"] - here) / step

    most = LARGEST_DRIFT * WARMER_BY
    n = falling_root(power_left, n_ref * (1.0 - most), n_ref * (1.0 + most), n_ref, tolerance=1e-9)
    growth = np.log(warm(n).saturation_current / reference.saturation_current)
    exponent = growth - 3.0 * np.log(t / t_ref)
    gap = exponent * BOLTZMANN * n / (1.0 / t_ref - 1.0 / t)
    lowest, highest = (share * usual_band_gap for share in BAND_GAP_RANGE)
    return TemperatureFit(np.clip(gap, lowest, highest), (n - n_ref) / WARMER_BY)

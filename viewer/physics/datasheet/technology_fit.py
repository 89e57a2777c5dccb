"""The model of a datasheet with the diode factor its technology is expected to have.

The diode factor is moved only as far as real resistances need; Isc, Voc, Imp and Vmp are then
met exactly (`stc_solution`), beta_voc and gamma_pmp through the band gap and the drift of the
diode factor (`temperature_fit`). Where the diode factor had to move, the response to irradiance
still follows the expected one (`irradiance_fit`).
"""

import numpy as np
from numpy.typing import NDArray

from viewer.physics.datasheet.datasheet_columns import DatasheetColumns
from viewer.physics.datasheet.irradiance_fit import expected_parameters, follow
from viewer.physics.datasheet.module_model import ModuleModel
from viewer.physics.datasheet.stc_solution import largest_feasible, solve_points
from viewer.physics.datasheet.temperature_fit import fit_temperature
from viewer.physics.single_diode import DiodeParameters

Array = NDArray[np.float64]

LEAST_SERIES_SHARE = 0.002
"""Least share of v_mp that is taken to drop in the series resistance (judgement)."""

LEAST_SHUNT_SHARE = 0.001
"""Least share of i_sc that is taken to flow through the shunt at v_mp (judgement)."""

ROUNDING = 1e-6

EXPECTED_SHUNT_SHARE = 0.004
"""Share of i_sc through the shunt where the datasheet's points cannot tell (judgement)."""


def fit_by_technology(columns: DatasheetColumns) -> ModuleModel:
    """One model a datasheet; NaN where `columns` are."""
    points, preferred = columns.points, columns.preferred_scale
    scale = largest_feasible(
        points,
        preferred,
        LEAST_SERIES_SHARE * points.v_mp / points.i_mp,
        LEAST_SHUNT_SHARE * points.i_sc / points.v_mp,
    )
    reference = solve_points(points, scale)
    saturation_exponent, series_exponent = np.zeros_like(scale), np.zeros_like(scale)
    moved = np.flatnonzero(scale < preferred * (1.0 - ROUNDING))
    if moved.size:
        following = follow(reference[moved], expected_by_technology(columns, moved))
        saturation_exponent[moved] = following.saturation_exponent
        series_exponent[moved] = following.series_exponent
    temperature = fit_temperature(
        reference,
        columns.cells_in_series,
        columns.alpha_sc,
        columns.beta_voc,
        columns.gamma_pmp,
        columns.of_technology("band_gap"),
        columns.junctions,
    )
    return ModuleModel.of(
        reference,
        columns.cells_in_series,
        columns.alpha_sc,
        temperature.band_gap,
        diode_factor_slope=temperature.diode_factor_slope,
        dark_shunt_share=columns.of_technology("dark_shunt_share"),
        saturation_exponent=saturation_exponent,
        series_exponent=series_exponent,
    )


def expected_by_technology(columns: DatasheetColumns, chosen: NDArray[np.intp]) -> DiodeParameters:
    """Parameters at STC of the chosen modules with the printed Isc, Voc and Pmp, but the diode
    factor of the technology in place of the printed split of Pmp into Imp and Vmp."""
    points = columns.points[chosen]
    return expected_parameters(
        points,
        columns.preferred_scale[chosen],
        LEAST_SERIES_SHARE * points.v_mp / points.i_mp,
        EXPECTED_SHUNT_SHARE * points.i_sc / points.v_mp,
    )

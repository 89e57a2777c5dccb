"""From a datasheet to the reference parameters of a module, for many modules at once.

The diode factor is taken from the technology and moved only as far as positive resistances
need; i_sc, v_oc, i_mp and v_mp are then met exactly (`stc_solution`), beta_voc and gamma_pmp
through the band gap and the drift of the diode factor (`temperature_fit`).
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from viewer.physics.conditions import TEMPERATURE_REF, kelvin
from viewer.physics.datasheet_checks import DatasheetNumbers, contradictions
from viewer.physics.module_model import BOLTZMANN, ModuleModel
from viewer.physics.single_diode import DiodeParameters
from viewer.physics.stc_solution import StcPoints, largest_feasible, solve_points
from viewer.physics.technology import technologies
from viewer.physics.temperature_fit import fit_temperature

Array = NDArray[np.float64]

LEAST_SERIES_SHARE = 0.002
"""Smallest share of v_mp dropped in the series resistance that is taken as physical."""

LEAST_SHUNT_SHARE = 0.002
"""Smallest share of i_sc through the shunt at v_mp that is taken as physical."""


@dataclass(frozen=True, eq=False)
class DatasheetFit:
    """The models of many modules, arrays of shape (modules,).

    `problems[i]` holds one sentence for each contradiction in datasheet i; its parameters are
    NaN if there is any. `remarks[i]` says what was assumed.
    """

    model: ModuleModel
    problems: tuple[tuple[str, ...], ...]
    remarks: tuple[tuple[str, ...], ...]

    @property
    def fitted(self) -> NDArray[np.bool_]:
        return np.array([not sentences for sentences in self.problems])


@dataclass(frozen=True, eq=False)
class ModuleFit:
    """The model of one module; `model` is None when `problems` says why there is none."""

    model: ModuleModel | None
    problems: tuple[str, ...]
    remarks: tuple[str, ...]


def fit_datasheets(
    i_sc: ArrayLike,
    v_oc: ArrayLike,
    i_mp: ArrayLike,
    v_mp: ArrayLike,
    alpha_sc: ArrayLike,
    beta_voc: ArrayLike,
    gamma_pmp: ArrayLike,
    cells_in_series: ArrayLike,
    technology: ArrayLike,
) -> DatasheetFit:
    """Fit every datasheet: i_sc, i_mp [A], v_oc, v_mp [V] at STC, alpha_sc [A/K],
    beta_voc [V/K], gamma_pmp [1/K], cells in one series path, technology by name.

    Arguments broadcast to shape (modules,). Raises ValueError for an unknown technology;
    a contradictory datasheet does not raise, its `problems` say what is wrong.
    """
    numbers = [
        np.asarray(x, dtype=float)
        for x in (i_sc, v_oc, i_mp, v_mp, alpha_sc, beta_voc, gamma_pmp, cells_in_series)
    ]
    *columns, names = np.broadcast_arrays(*map(np.atleast_1d, numbers), np.atleast_1d(technology))
    kinds = technologies(names)
    problems = tuple(
        contradictions(DatasheetNumbers(kind, *map(float, row)))
        for *row, kind in zip(*columns, kinds, strict=True)
    )
    good = np.array([not sentences for sentences in problems])
    columns = [np.where(good, column, np.nan) for column in columns]
    preferred = np.array([kind.diode_factor for kind in kinds])
    gaps = np.array([kind.band_gap for kind in kinds])
    dark = np.array([kind.dark_shunt_share for kind in kinds])
    points, cells = StcPoints(*columns[:4]), columns[7]
    reference = _reference(points, cells, preferred)
    temperature = fit_temperature(reference, cells, columns[4], columns[5], columns[6], gaps)
    model = ModuleModel(
        photocurrent_ref=reference.photocurrent,
        saturation_current_ref=reference.saturation_current,
        resistance_series=reference.resistance_series,
        resistance_shunt_ref=reference.resistance_shunt,
        diode_factor_ref=reference.nNsVth / _thermal_scale(cells),
        cells_in_series=cells,
        alpha_sc=columns[4],
        band_gap=temperature.band_gap,
        band_gap_slope=np.zeros_like(cells),
        diode_factor_slope=temperature.diode_factor_slope,
        dark_shunt_share=dark,
    )
    return DatasheetFit(model, problems, ((),) * len(problems))


def fit_module(
    i_sc: float,
    v_oc: float,
    i_mp: float,
    v_mp: float,
    alpha_sc: float,
    beta_voc: float,
    gamma_pmp: float,
    cells_in_series: float,
    technology: str,
) -> ModuleFit:
    """The same for one module; see `fit_datasheets`."""
    fit = fit_datasheets(
        i_sc, v_oc, i_mp, v_mp, alpha_sc, beta_voc, gamma_pmp, cells_in_series, technology
    )
    model = None if fit.problems[0] else fit.model[0]
    return ModuleFit(model, fit.problems[0], fit.remarks[0])


def _thermal_scale(cells: Array) -> Array:
    return BOLTZMANN * float(kelvin(TEMPERATURE_REF)) * cells


def _reference(points: StcPoints, cells: Array, preferred: Array) -> DiodeParameters:
    """Parameters at STC with the preferred diode factor, or the nearest feasible one."""
    a = preferred * _thermal_scale(cells)
    feasible = largest_feasible(points, 0.1 * a, a, LEAST_SERIES_SHARE, LEAST_SHUNT_SHARE)
    return solve_points(points, feasible)

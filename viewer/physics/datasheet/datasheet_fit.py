"""From a datasheet to the model of a module, for many modules at once."""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from viewer.physics.conditions import IRRADIANCE_REF, TEMPERATURE_REF
from viewer.physics.datasheet.datasheet_columns import DatasheetColumns, read_columns
from viewer.physics.datasheet.desoto_fit import fit_five_parameters, fit_six_parameters
from viewer.physics.datasheet.fit_remarks import fit_remarks
from viewer.physics.datasheet.module_model import ModuleModel
from viewer.physics.datasheet.technology_fit import fit_by_technology
from viewer.physics.datasheet.temperature_fit import WARMER_BY
from viewer.physics.single_diode import exact_key_points

Array = NDArray[np.float64]

METHODS: dict[str, Callable[[DatasheetColumns], ModuleModel]] = {
    "technology": fit_by_technology,
    "five-parameter": fit_five_parameters,
    "six-parameter": fit_six_parameters,
}
"""Ways to fit: with the technology's diode factor, or De Soto's or Dobos's model."""


@dataclass(frozen=True, eq=False)
class ModuleFit:
    """The model of one module; `model` is None when `problems` says why there is none."""

    model: ModuleModel | None
    problems: tuple[str, ...]
    remarks: tuple[str, ...]
    residuals: dict[str, float]


@dataclass(frozen=True, eq=False)
class DatasheetFit:
    """The models of many modules, arrays of shape (modules,).

    `problems[i]` holds one sentence for each contradiction in datasheet i; its parameters are
    NaN if there is any. `remarks[i]` says what was assumed or not met. `residuals` holds model
    minus datasheet: i_sc, v_oc, i_mp, v_mp, p_mp relative, beta_voc [V/K], gamma_pmp [1/K].
    """

    model: ModuleModel
    problems: tuple[tuple[str, ...], ...]
    remarks: tuple[tuple[str, ...], ...]
    residuals: dict[str, Array]

    @property
    def fitted(self) -> NDArray[np.bool_]:
        return np.array([not sentences for sentences in self.problems], dtype=bool)

    def one(self, number: int) -> ModuleFit:
        """The fit of one of the modules."""
        problems = self.problems[number]
        return ModuleFit(
            None if problems else self.model[number],
            problems,
            self.remarks[number],
            {name: float(values[number]) for name, values in self.residuals.items()},
        )


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
    *,
    method: str = "technology",
) -> DatasheetFit:
    """Fit every datasheet: i_sc, i_mp [A], v_oc, v_mp [V] at STC, alpha_sc [A/K],
    beta_voc [V/K], gamma_pmp [1/K], cells in one series path, technology by name.

    Arguments broadcast to shape (modules,); `method` is one of METHODS. Raises ValueError for an
    unknown technology or method; a contradictory datasheet does not raise, its `problems` say
    what is wrong.
    """
    if method not in METHODS:
        raise ValueError(f"Method {method!r} is not known; write one of {', '.join(METHODS)}.")
    columns = read_columns(
        i_sc, v_oc, i_mp, v_mp, alpha_sc, beta_voc, gamma_pmp, cells_in_series, technology
    )
    model = METHODS[method](columns)
    residuals = _residuals(columns, model)
    found = fit_remarks(columns, model, residuals)
    remarks = tuple(a + b for a, b in zip(columns.remarks, found, strict=True))
    return DatasheetFit(model, columns.problems, remarks, residuals)


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
    *,
    method: str = "technology",
) -> ModuleFit:
    """The same for one module; see `fit_datasheets`.

    Public for who has one module's numbers and no site, as tests and benchmarks do; the program
    fits all modules of a site together (`analysis.prediction.site_models`).
    """
    fit = fit_datasheets(
        i_sc,
        v_oc,
        i_mp,
        v_mp,
        alpha_sc,
        beta_voc,
        gamma_pmp,
        cells_in_series,
        technology,
        method=method,
    )
    return fit.one(0)


def _residuals(columns: DatasheetColumns, model: ModuleModel) -> dict[str, Array]:
    """Model minus datasheet; the coefficients as the mean slope over WARMER_BY kelvin."""
    points = columns.points
    at_stc = exact_key_points(model.operating(IRRADIANCE_REF, TEMPERATURE_REF))
    warm = exact_key_points(model.operating(IRRADIANCE_REF, TEMPERATURE_REF + WARMER_BY))
    printed = {name: getattr(points, name) for name in ("i_sc", "v_oc", "i_mp", "v_mp")}
    printed["p_mp"] = points.i_mp * points.v_mp
    residuals = {name: at_stc[name] / value - 1.0 for name, value in printed.items()}
    beta = (warm["v_oc"] - at_stc["v_oc"]) / WARMER_BY
    gamma = (warm["p_mp"] / at_stc["p_mp"] - 1.0) / WARMER_BY
    return residuals | {
        "beta_voc": beta - columns.beta_voc,
        "gamma_pmp": gamma - columns.gamma_pmp,
    }

"""The single-diode model of every module type of a site."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace

import numpy as np

from viewer.physics.datasheet_fit import ModuleFit, fit_module
from viewer.physics.matrix_fit import fit_matrix
from viewer.physics.module_model import ModuleModel
from viewer.physics.translation.corrections import Corrections
from viewer.physics.translation.factors_from_model import factors_from_model
from viewer.site_data.datasheet import Datasheet
from viewer.site_data.matrix_rows import MatrixRow


@dataclass(frozen=True, eq=False)
class SiteModels:
    """Models by module key, and for those that have none, why."""

    models: Mapping[str, ModuleModel]
    corrections: Mapping[str, Corrections]
    """What IEC 60891 needs to translate a curve of one module of each type."""
    problems: Mapping[str, tuple[str, ...]]
    remarks: Mapping[str, tuple[str, ...]]


def fit_datasheet(datasheet: Datasheet) -> ModuleFit:
    """The model of one datasheet; its coefficients go from %/K to the units of physics.

    Rows of an irradiance-temperature matrix, where the datasheet has them, refine the model.
    """
    fit = _fit_printed(datasheet)
    if fit.model is None or not datasheet.matrix:
        return fit
    rows = {name: np.array(column, dtype=float) for name, column in _matrix_columns(datasheet)}
    refined = fit_matrix(fit.model, rows.pop("poa_global"), rows.pop("temperature_cell"), **rows)
    count = len(datasheet.matrix)
    said = f"{count} row{'s' if count > 1 else ''} beside STC refined the model."
    return replace(fit, model=refined.model, remarks=(*fit.remarks, said, *refined.remarks))


def _matrix_columns(datasheet: Datasheet) -> Iterator[tuple[str, list[float]]]:
    """Each quantity's values, NaN where a row does not give it."""
    for name in MatrixRow._fields:
        values = [getattr(row, name) for row in datasheet.matrix]
        yield name, [float("nan") if value is None else value for value in values]


def _fit_printed(datasheet: Datasheet) -> ModuleFit:
    return fit_module(
        datasheet.i_sc,
        datasheet.v_oc,
        datasheet.i_mp,
        datasheet.v_mp,
        datasheet.alpha_sc / 100 * datasheet.i_sc,
        datasheet.beta_voc / 100 * datasheet.v_oc,
        datasheet.gamma_pmp / 100,
        datasheet.cells_in_series,
        datasheet.technology,
    )


def site_models(modules: Mapping[str, Datasheet]) -> SiteModels:
    """Fits every module type of a site."""
    fits = {key: fit_datasheet(datasheet) for key, datasheet in modules.items()}
    models = {key: fit.model for key, fit in fits.items() if fit.model is not None}
    return SiteModels(
        models,
        {key: factors_from_model(model) for key, model in models.items()},
        {key: fit.problems for key, fit in fits.items() if fit.problems},
        {key: fit.remarks for key, fit in fits.items() if fit.remarks},
    )

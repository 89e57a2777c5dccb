"""The single-diode model of every module type of a site."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from viewer.physics.datasheet.datasheet_fit import ModuleFit, fit_datasheets
from viewer.physics.datasheet.matrix_fit import fit_matrix
from viewer.physics.datasheet.module_model import ModuleModel
from viewer.physics.translation.corrections import Corrections
from viewer.physics.translation.factors_from_model import factors_from_models
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
    """The model of one datasheet; see `fit_each`."""
    return fit_each([datasheet])[0]


def fit_each(datasheets: Sequence[Datasheet]) -> list[ModuleFit]:
    """The model of each datasheet, all at once; coefficients go from %/K to those of physics.

    Rows of an irradiance-temperature matrix, where a datasheet has them, refine its model.
    """
    printed = _fit_printed(datasheets)
    return [_refined(*pair) for pair in zip(printed, datasheets, strict=True)]


def _refined(fit: ModuleFit, datasheet: Datasheet) -> ModuleFit:
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


def _fit_printed(datasheets: Sequence[Datasheet]) -> list[ModuleFit]:
    def column(name: str) -> list:
        return [getattr(one, name) for one in datasheets]

    i_sc, v_oc = np.array(column("i_sc")), np.array(column("v_oc"))
    fits = fit_datasheets(
        i_sc,
        v_oc,
        column("i_mp"),
        column("v_mp"),
        np.array(column("alpha_sc")) / 100 * i_sc,
        np.array(column("beta_voc")) / 100 * v_oc,
        np.array(column("gamma_pmp")) / 100,
        column("cells_in_series"),
        column("technology"),
    )
    return [fits.one(k) for k in range(len(datasheets))]


def site_models(modules: Mapping[str, Datasheet]) -> SiteModels:
    """Fits every module type of a site."""
    if not modules:
        return SiteModels({}, {}, {}, {})
    fits = dict(zip(modules, fit_each(list(modules.values())), strict=True))
    models = {key: fit.model for key, fit in fits.items() if fit.model is not None}
    return SiteModels(
        models,
        dict(zip(models, factors_from_models(list(models.values())), strict=True)),
        {key: fit.problems for key, fit in fits.items() if fit.problems},
        {key: fit.remarks for key, fit in fits.items() if fit.remarks},
    )

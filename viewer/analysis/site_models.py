"""The single-diode model of every module type of a site."""

from collections.abc import Mapping
from dataclasses import dataclass

from viewer.physics.datasheet_fit import ModuleFit, fit_module
from viewer.physics.module_model import ModuleModel
from viewer.physics.translation.corrections import Corrections
from viewer.physics.translation.factors_from_model import factors_from_model
from viewer.site_data.datasheet import Datasheet


@dataclass(frozen=True, eq=False)
class SiteModels:
    """Models by module key, and for those that have none, why."""

    models: Mapping[str, ModuleModel]
    corrections: Mapping[str, Corrections]
    """What IEC 60891 needs to translate a curve of one module of each type."""
    problems: Mapping[str, tuple[str, ...]]
    remarks: Mapping[str, tuple[str, ...]]


def fit_datasheet(datasheet: Datasheet) -> ModuleFit:
    """The model of one datasheet; its coefficients go from %/K to the units of physics."""
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

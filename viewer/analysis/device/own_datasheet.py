"""A datasheet of a module out of its own curves at different conditions, and its model.

The values at standard test conditions are interpolated between the curves (IEC 60891:2021
procedure 3); the temperature coefficients follow from all curves by least squares, Isc in
proportion to irradiance, Voc and the power per irradiance with its logarithm. Each curve is
also a row beside STC, so that one set of model parameters is fitted to all of them.
"""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import NDArray

from viewer.analysis.device.other_conditions import AtConditions, between
from viewer.analysis.device.usable_traces import conditions_of
from viewer.analysis.prediction.preparation import Prepared
from viewer.analysis.prediction.site_models import SiteModels, fit_datasheet
from viewer.analysis.prediction.standard_conditions import STANDARD
from viewer.physics.conditions import IRRADIANCE_REF, TEMPERATURE_REF
from viewer.physics.datasheet.datasheet_fit import ModuleFit
from viewer.physics.datasheet.module_model import ModuleModel
from viewer.physics.measured_sweep.key_points import KeyPoints
from viewer.physics.single_diode import exact_key_points
from viewer.physics.uncertainty.uncertainty import InputUncertainties
from viewer.site_data.datasheet import Datasheet
from viewer.site_data.datasheet_checks import doubts, errors
from viewer.site_data.matrix_rows import MatrixRow
from viewer.site_data.site_layout import SiteLayout

Array = NDArray[np.float64]

LEAST_CURVES = 3
LEAST_SPREAD = 4.0
"""Kelvin of cell temperature (standard deviation) beside what goes with irradiance; with less the
coefficients are mostly noise (judgement)."""
DIGITS = 5
COEFFICIENTS = ("alpha_sc", "beta_voc", "gamma_pmp")


@dataclass(frozen=True)
class MakeUp:
    """What the curves are of, which they do not tell.

    cable_resistance [ohm] of the whole device's cable, taken off the measured voltages.
    given: temperature coefficients in %/K by name, in place of the curves' own.
    """

    key: str
    technology: str
    cells_in_series: int
    parallel_paths: int = 1
    bypass_diodes: int = 3
    modules_in_series: int = 1
    strings_in_parallel: int = 1
    cable_resistance: float = 0.0
    given: Mapping[str, float] = field(default_factory=dict)


@dataclass(frozen=True, eq=False)
class OwnDatasheet:
    """The datasheet of one module, its model, and how both came about.

    missed: the model's maximum power over the measured one less one, of each trace.
    """

    datasheet: Datasheet
    fit: ModuleFit
    at_standard: AtConditions
    missed: Array
    remarks: tuple[str, ...]


def own_datasheet(
    usable: Sequence[Prepared],
    layout: SiteLayout,
    models: SiteModels,
    make_up: MakeUp,
    inputs: InputUncertainties,
) -> OwnDatasheet:
    """Raises ValueError with one sentence where the curves do not tell enough."""
    if len(usable) < LEAST_CURVES:
        raise ValueError(
            f"a datasheet needs at least {LEAST_CURVES} usable traces of the string at different "
            "irradiances and temperatures"
        )
    at_standard = between(usable, layout, models, STANDARD, inputs)
    poa, cell = np.array([conditions_of(one) for one in usable]).T
    points = [_of_module(one.measured.values, make_up) for one in usable]
    standard = _of_module(at_standard.key_points, make_up)
    given = dict(make_up.given)
    own = given if set(COEFFICIENTS) <= set(given) else coefficients(poa, cell, points) | given
    datasheet = Datasheet(
        make_up.key,
        make_up.technology,
        _rounded(standard.i_sc),
        _rounded(standard.v_oc),
        _rounded(standard.i_mp),
        _rounded(standard.v_mp),
        _rounded(own["alpha_sc"], 3),
        _rounded(own["beta_voc"], 3),
        _rounded(own["gamma_pmp"], 3),
        make_up.cells_in_series,
        make_up.parallel_paths,
        make_up.bypass_diodes,
    )
    wrong = errors(datasheet)
    if wrong:
        raise ValueError(f"the curves give no datasheet that can be right: {wrong[0]}")
    rows = tuple(
        _row(*place, one) for place, one in zip(zip(poa, cell, strict=True), points, strict=True)
    )
    datasheet = replace(datasheet, matrix=rows)
    fit = fit_datasheet(datasheet)
    if fit.model is None:
        raise ValueError(
            f"the curves give no datasheet that can be right: {' '.join(fit.problems)}"
        )
    measured = np.array([one.p_mp for one in points])
    remarks = (*at_standard.remarks, *doubts(datasheet), *fit.remarks)
    return OwnDatasheet(
        datasheet, fit, at_standard, _power(fit.model, poa, cell) / measured - 1.0, remarks
    )


def coefficients(poa: Array, cell: Array, points: Sequence[KeyPoints]) -> dict[str, float]:
    """alpha_sc, beta_voc, gamma_pmp [%/K] by least squares over all curves.

    poa [W/m²], cell [°C]: of each curve. Raises ValueError where temperature moved only with
    irradiance, so that its part cannot be told.
    """
    light, warmer = np.log(poa / IRRADIANCE_REF), cell - TEMPERATURE_REF
    with_light = np.stack([np.ones_like(light), warmer, light], axis=1)
    beside = np.stack([with_light[:, 0], light], axis=1)
    left = warmer - beside @ np.linalg.lstsq(beside, warmer, rcond=None)[0]
    if math.sqrt(float(np.mean(left**2))) < LEAST_SPREAD:
        raise ValueError(
            "the cell temperatures hardly differ but with the irradiance, so that the curves do "
            "not tell the temperature coefficients; trace at other temperatures or give "
            "--alpha-sc, --beta-voc and --gamma-pmp from a datasheet"
        )
    share = poa / IRRADIANCE_REF
    i_sc = np.array([one.i_sc for one in points]) / share
    v_oc = np.array([one.v_oc for one in points])
    p_mp = np.array([one.p_mp for one in points]) / share
    return {
        "alpha_sc": _slope(with_light[:, :2], i_sc),
        "beta_voc": _slope(with_light, v_oc),
        "gamma_pmp": _slope(with_light, p_mp),
    }


def _slope(terms: Array, values: Array) -> float:
    """Change with temperature over the value at STC, %/K."""
    found = np.linalg.lstsq(terms, values, rcond=None)[0]
    return float(100.0 * found[1] / found[0])


def _of_module(points: KeyPoints, make_up: MakeUp) -> KeyPoints:
    """Of one module, without the cable."""
    cable = make_up.cable_resistance
    v_mp = (points.v_mp + cable * points.i_mp) / make_up.modules_in_series
    v_oc = points.v_oc / make_up.modules_in_series
    i_mp = points.i_mp / make_up.strings_in_parallel
    i_sc = points.i_sc / make_up.strings_in_parallel
    p_mp = v_mp * i_mp
    return KeyPoints(i_sc, v_oc, i_mp, v_mp, p_mp, p_mp / (i_sc * v_oc))


def _row(poa: float, cell: float, points: KeyPoints) -> MatrixRow:
    return MatrixRow(
        round(float(poa), 1),
        round(float(cell), 2),
        *(_rounded(getattr(points, name)) for name in ("p_mp", "i_sc", "v_oc", "i_mp", "v_mp")),
    )


def _power(model: ModuleModel, poa: Array, cell: Array) -> Array:
    return np.asarray(exact_key_points(model.operating(poa, cell))["p_mp"], dtype=float)


def _rounded(value: float, digits: int = DIGITS) -> float:
    return float(f"{value:.{digits}g}")

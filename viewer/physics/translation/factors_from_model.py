"""Default correction factors: those of the module's own single-diode model.

Where no curves at several conditions exist, the model fitted to the datasheet stands in for
them: its curves over the range of field conditions go through the same determination.
"""

from collections.abc import Sequence
from dataclasses import replace
from itertools import product

import numpy as np
from numpy.typing import NDArray

from viewer.physics.conditions import IRRADIANCE_REF, TEMPERATURE_REF
from viewer.physics.datasheet.module_model import ModuleModel
from viewer.physics.single_diode import DiodeParameters, curve
from viewer.physics.translation.condition_curves import ConditionCurves
from viewer.physics.translation.corrections import Corrections
from viewer.physics.translation.factors_from_curves import KnownAtReference, factors_of_each

Array = NDArray[np.float64]

FIELD_IRRADIANCES: tuple[float, ...] = (400.0, 550.0, 700.0, 850.0, 1000.0, 1150.0)
FIELD_TEMPERATURES: tuple[float, ...] = (10.0, 25.0, 40.0, 55.0, 70.0)
CURVE_POINTS = 200

STEP = 1.0
"""K to either side of STC, between which the temperature coefficients are taken."""

TOGETHER = 16
"""Modules in one computation: more no longer saves time and their curves would leave the
processor's cache."""

SOURCE = (
    "kappa and internal series resistance from the datasheet's single-diode model, "
    "for want of curves at several conditions"
)

FIELD = np.array(list(product(FIELD_IRRADIANCES, FIELD_TEMPERATURES)))
REFERENCE = np.array([(IRRADIANCE_REF, TEMPERATURE_REF + STEP * k) for k in (-1.0, 0.0, 1.0)])


def factors_from_model(model: ModuleModel) -> Corrections:
    """Correction factors of one module (a model of a single module, not of many).

    Isc, Voc and their temperature coefficients are the model's own at STC.
    """
    return factors_from_models([model])[0]


def factors_from_models(models: Sequence[ModuleModel]) -> list[Corrections]:
    """The same for each of many modules; side by side they take less time."""
    return [
        one
        for first in range(0, len(models), TOGETHER)
        for one in _factors(models[first : first + TOGETHER])
    ]


def _factors(models: Sequence[ModuleModel]) -> list[Corrections]:
    count = len(FIELD)
    conditions = np.concatenate([FIELD, REFERENCE])
    operating = [model.operating(*conditions.T).as_tuple() for model in models]
    parameters = DiodeParameters(*(np.stack(column) for column in zip(*operating, strict=True)))
    voltage, current = curve(parameters, CURVE_POINTS)
    cells = np.array([model.cells_in_series for model in models], dtype=float)
    found = factors_of_each(
        ConditionCurves(voltage[:, :count], current[:, :count], *FIELD.T),
        _at_reference(cells, current[:, count:, 0], voltage[:, count:, -1]),
        SOURCE,
    )
    physical = parameters.resistance_series[:, count + 1]
    found = replace(found, resistance_series=physical)
    return [found[k] for k in range(len(models))]


def _at_reference(cells: Array, i_sc: Array, v_oc: Array) -> KnownAtReference:
    """From Isc [A] and Voc [V] at the conditions of REFERENCE, (modules, 3)."""
    return KnownAtReference(
        cells,
        i_sc[:, 1],
        v_oc[:, 1],
        (i_sc[:, 2] - i_sc[:, 0]) / (2.0 * STEP * i_sc[:, 1]),
        (v_oc[:, 2] - v_oc[:, 0]) / (2.0 * STEP * v_oc[:, 1]),
    )

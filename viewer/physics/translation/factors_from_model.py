"""Default correction factors: those of the module's own single-diode model.

Where no curves at several conditions exist, the model fitted to the datasheet stands in for
them: its curves over the range of field conditions go through the same determination.
"""

from itertools import product

import numpy as np

from viewer.physics.conditions import IRRADIANCE_REF, TEMPERATURE_REF
from viewer.physics.module_model import ModuleModel
from viewer.physics.single_diode import curve, exact_key_points
from viewer.physics.translation.condition_curve import ConditionCurve
from viewer.physics.translation.corrections import Corrections
from viewer.physics.translation.factors_from_curves import KnownAtReference, factors_from_curves

FIELD_IRRADIANCES: tuple[float, ...] = (400.0, 550.0, 700.0, 850.0, 1000.0, 1150.0)
FIELD_TEMPERATURES: tuple[float, ...] = (10.0, 25.0, 40.0, 55.0, 70.0)
CURVE_POINTS = 200

SOURCE = (
    "kappa and internal series resistance from the datasheet's single-diode model, "
    "for want of curves at several conditions"
)


def factors_from_model(model: ModuleModel) -> Corrections:
    """Correction factors of one module (a model of a single module, not of many).

    Isc, Voc and their temperature coefficients are the model's own at STC.
    """
    known = _at_reference(model)
    conditions = np.array(list(product(FIELD_IRRADIANCES, FIELD_TEMPERATURES)))
    voltage, current = curve(model.operating(*conditions.T), CURVE_POINTS)
    curves = [
        ConditionCurve(v, i, float(poa), float(temperature))
        for v, i, (poa, temperature) in zip(voltage, current, conditions, strict=True)
    ]
    found = factors_from_curves(curves, known, SOURCE)
    resistance = float(model.operating(IRRADIANCE_REF, TEMPERATURE_REF).resistance_series.item())
    return found.with_physical_resistance(resistance)


def _at_reference(model: ModuleModel) -> KnownAtReference:
    step = 1.0
    rises = TEMPERATURE_REF + step * np.arange(-1.0, 2.0)
    points = exact_key_points(model.operating(IRRADIANCE_REF, rises))
    i_cold, i_sc, i_warm = points["i_sc"].tolist()
    v_cold, v_oc, v_warm = points["v_oc"].tolist()
    alpha = (i_warm - i_cold) / (2.0 * step * i_sc)
    beta = (v_warm - v_cold) / (2.0 * step * v_oc)
    cells = int(model.cells_in_series.item())
    return KnownAtReference(cells, i_sc, v_oc, alpha, beta)

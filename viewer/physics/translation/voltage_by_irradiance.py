"""How the open-circuit voltage follows irradiance and temperature, after procedure 2."""

import numpy as np
from numpy.typing import NDArray

from viewer.physics.conditions import IRRADIANCE_REF, TEMPERATURE_REF
from viewer.physics.least_squares_of_many import curved_answer
from viewer.physics.translation.condition_curves import ConditionCurves
from viewer.physics.translation.corrections import Numeric

Array = NDArray[np.float64]

UNITS = (1.0, 0.01, 1.0, 1.0)
"""What Voc, beta [1/K], b1 and b2 are counted in; Voc in the highest measured one."""

START = (1.0, -0.3, 0.04, 0.0)
"""Where the search begins, counted so: an ordinary module."""


def voltage_by_irradiance(
    curves: ConditionCurves,
    v_oc: Numeric | None = None,
    beta_voc: Numeric | None = None,
    b_1: Numeric | None = None,
    b_2: Numeric | None = None,
) -> tuple[Array, Array, Array, Array]:
    """Voc at STC [V], beta [1/K], b1 and b2 of each device, (devices,); what is None is
    determined from the curves' Voc.

    Procedure 2 says Voc(G, T) = Voc,STC (1/f(G) + beta f(G) (T - 25 °C)). b2 needs three
    irradiances and stays zero with two.
    """
    measured = curves.v_oc
    logarithm = np.log(IRRADIANCE_REF / curves.poa_global)
    warmer = curves.temperature_cell - TEMPERATURE_REF
    if b_2 is None and len(set(np.round(logarithm, 1).tolist())) <= 2:
        b_2 = 0.0
    units = np.tile(UNITS, (len(measured), 1))
    units[:, 0] = measured.max(axis=-1)
    values, free = units * START, []
    for k, given in enumerate((v_oc, beta_voc, b_1, b_2)):
        if given is None:
            free.append(k)
        else:
            values[:, k] = given

    scale = units[:, free]

    def misses_and_slopes(x: Array) -> tuple[Array, Array]:
        values[:, free] = x * scale
        voltage, beta, by_log, by_square = values.T[..., None]
        f = by_square * logarithm**2 + by_log * logarithm + 1.0
        share = 1.0 / f + beta * f * warmer
        by_f = voltage * (beta * warmer - 1.0 / f**2)
        slopes = (share, voltage * f * warmer, by_f * logarithm, by_f * logarithm**2)
        columns = np.stack([slopes[k] / measured for k in free], axis=-1)
        return voltage * share / measured - 1.0, columns * scale[:, None, :]

    if free:
        values[:, free] = curved_answer(misses_and_slopes, values[:, free] / scale) * scale
    first, second, third, fourth = values.T.copy()
    return first, second, third, fourth

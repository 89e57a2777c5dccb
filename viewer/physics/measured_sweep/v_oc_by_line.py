"""Voc of sweeps whose fitted curve leaves it open, though their points reach no current.

Limits without a source are judgement.
"""

import math

import numpy as np
from numpy.typing import NDArray

from viewer.physics.curve_fit.fitted_points import FILL, I_SC, P_MP, V_OC
from viewer.physics.curve_fit.sweep_batch import Sweep

Array = NDArray[np.float64]

UNCERTAIN = 0.01
"""Of Voc: so uncertain it is where a last part was cut off by noise, or too few points bend."""
NEAR_THE_END, FEWEST = 0.12, 4
"""Of the greatest current, and points: of a sparse sweep the last few, however far they reach."""
BEND = 0.02
"""Of Voc, by how much a curve bends off a line that reaches to full current: half the thermal
voltage of its cells, and as the square of what the line reaches to."""
FAR_FROM_THE_END = 0.03
"""Of the greatest current: a sweep that ends above tells of its Voc only by its curve."""


def with_v_oc_by_line(sweep: Sweep, values: Array, uncertainty: Array) -> tuple[Array, Array]:
    """Values and standard uncertainties as in fitted_points, (8,), with Voc by a straight line
    through the last points of the clean sweep where that is surer."""
    if uncertainty[V_OC] < UNCERTAIN * values[V_OC]:
        return values, uncertainty
    voltage, current = sweep
    greatest = current.max()
    if not greatest > 0.0 or current.min() > FAR_FROM_THE_END * greatest:
        return values, uncertainty
    order = np.argsort(np.abs(current))
    share = np.abs(current[order]) / greatest
    count = max(int(np.searchsorted(share, NEAR_THE_END)), FEWEST)
    i, v = current[order[:count]], voltage[order[:count]]
    if i.size < FEWEST or not np.ptp(i) > 0.0:
        return values, uncertainty
    (_, v_oc), covariance = np.polyfit(i, v, 1, cov=True)
    spread = math.hypot(math.sqrt(covariance[1, 1]), BEND * share[count - 1] ** 2 * v_oc)
    if uncertainty[V_OC] <= spread:
        return values, uncertainty
    values, uncertainty = values.copy(), uncertainty.copy()
    values[V_OC], uncertainty[V_OC] = v_oc, spread
    values[FILL] = values[P_MP] / (values[I_SC] * v_oc)
    relative = [uncertainty[which] / values[which] for which in (P_MP, I_SC, V_OC)]
    uncertainty[FILL] = abs(values[FILL]) * float(np.sqrt(np.sum(np.square(relative))))
    return values, uncertainty

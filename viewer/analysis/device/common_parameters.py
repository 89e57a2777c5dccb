"""One set of five parameters for repeated sweeps of a device."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from viewer.analysis.device.usable_traces import Traced, conditions_of
from viewer.physics.curve_fit.parameter_fit import ParameterFit, fit_parameters_jointly

ALIKE_IRRADIANCE = 0.02
"""Range of irradiance over its mean up to which sweeps are repeats of one (judgement): the
photocurrent, which goes with it, is then that of the mean within a percent."""
ALIKE_TEMPERATURE = 2.0
"""The same of cell temperature [K]; Voc moves by half a percent (judgement)."""


@dataclass(frozen=True, eq=False)
class CommonParameters:
    """The joint fit and the mean conditions it holds at, [W/m²] and [°C]."""

    fit: ParameterFit
    poa_global: float
    temperature_cell: float


def common_parameters(usable: Sequence[Traced]) -> CommonParameters:
    """One fit to all points of several sweeps at the same conditions.

    Raises ValueError with one sentence for fewer than two sweeps or for conditions that differ.
    """
    if len(usable) < 2:
        raise ValueError(
            "one set of parameters together needs at least two usable traces of the string"
        )
    poa, cell = np.array([conditions_of(one) for one in usable]).T
    if np.ptp(poa) > ALIKE_IRRADIANCE * poa.mean() or np.ptp(cell) > ALIKE_TEMPERATURE:
        raise ValueError(
            f"the traces were made at {poa.min():.0f} to {poa.max():.0f} W/m² and "
            f"{cell.min():.1f} to {cell.max():.1f} °C: one set of five parameters holds at one "
            "condition; `curvewright datasheet` makes a model of traces at different ones"
        )
    fit = fit_parameters_jointly([(one.trace.voltage, one.trace.current) for one in usable])
    return CommonParameters(fit, float(poa.mean()), float(cell.mean()))

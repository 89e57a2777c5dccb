"""Maximum power and how it changes with one parameter, for the fits' roots.

At the maximum dP/dVd = 0, so the change of maximum power with a parameter is the change of
power at a fixed diode voltage (envelope theorem): dP = (V - I rs) dI - I² drs.
"""

import numpy as np
from numpy.typing import NDArray

from viewer.physics.single_diode import (
    DiodeParameters,
    diode_current,
    maximum_power_diode_voltage,
)

Array = NDArray[np.float64]


def power_at_scale(params: DiodeParameters, v_oc: Array) -> tuple[Array, Array]:
    """Maximum power [W] and its slope [A] in a = nNsVth, the saturation current following so
    that the curve still ends at `v_oc` [V]."""
    vd, current, lever = _at_maximum(params, v_oc)
    a = params.nNsVth
    recombined = params.saturation_current * np.expm1(vd / a)
    spread = v_oc / -np.expm1(-v_oc / a) - vd / -np.expm1(-vd / a)
    return _power(params, vd, current), -lever * recombined * spread / a**2


def power_at_series(
    params: DiodeParameters, v_oc: Array, light_slope: Array | float = 0.0
) -> tuple[Array, Array]:
    """Maximum power [W] and its slope [A²] in the series resistance, the photocurrent growing
    by `light_slope` [A/ohm] with it."""
    vd, current, lever = _at_maximum(params, v_oc)
    return _power(params, vd, current), lever * light_slope - current**2


def _at_maximum(params: DiodeParameters, v_oc: Array) -> tuple[Array, Array, Array]:
    vd = maximum_power_diode_voltage(params, np.zeros_like(v_oc), v_oc)
    current = diode_current(params, vd)
    return vd, current, vd - 2.0 * current * params.resistance_series


def _power(params: DiodeParameters, vd: Array, current: Array) -> Array:
    return current * (vd - current * params.resistance_series)

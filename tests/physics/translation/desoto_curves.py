"""Curves of one invented 60-cell module by pvlib's De Soto model."""

import numpy as np
import pvlib

from viewer.physics.translation.condition_curve import ConditionCurve

RESISTANCE_SERIES = 0.3


def measured(
    poa: float = 1000.0, temperature: float = 25.0, points: int = 120
) -> tuple[np.ndarray, np.ndarray]:
    """Voltage [V] and current [A] from short circuit to open circuit."""
    il, io, rs, rsh, a = pvlib.pvsystem.calcparams_desoto(
        poa, temperature, 0.0048, 1.6, 9.5, 1.6e-10, 400.0, RESISTANCE_SERIES
    )
    v_oc = pvlib.pvsystem.v_from_i(0.0, il, io, rs, rsh, a)
    v = v_oc * np.sin(np.linspace(0.0, np.pi / 2, points))
    return v, pvlib.pvsystem.i_from_v(v, il, io, rs, rsh, a)


def at(poa: float, temperature: float) -> ConditionCurve:
    """The same as a curve with its conditions."""
    return ConditionCurve(*measured(poa, temperature, 200), poa, temperature)

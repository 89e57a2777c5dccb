"""The internal series resistance and kappa that make the curves of a device agree.

Both are linear in what procedures 1 and 2 add to a voltage, so they come out of one linear
least-squares fit of voltage differences at equal currents, over all curves at once, between
open circuit and the maximum power point.
"""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from viewer.physics.conditions import IRRADIANCE_REF, TEMPERATURE_REF
from viewer.physics.least_squares_of_many import linear_answer
from viewer.physics.translation.condition_curves import ConditionCurves
from viewer.physics.translation.corrections import Corrections, InternalResistance, Numeric

Array = NDArray[np.float64]

CURRENTS = 25
"""Currents at which two curves are compared."""

SPREAD_OUT = np.linspace(0.0, 1.0, CURRENTS)

Range = tuple[float, float]

NEAR_MAXIMUM_POWER: Range = (0.97, 1.01)
"""Curves are made to agree at currents within these shares of Imp, as the standard compares
maximum powers."""

UP_TO_MAXIMUM_POWER: Range = (0.0, 1.0)
"""The physical series resistance shows along the whole branch."""


@dataclass(frozen=True, eq=False)
class Compared:
    """One curve of each device, nearest to STC, and the others that are to agree with it.

    Arrays of what belongs to a curve are (devices, curves, 1), or (curves, 1) where all
    devices share it.
    """

    ref: ConditionCurves
    others: ConditionCurves

    @classmethod
    def of(cls, curves: ConditionCurves) -> "Compared":
        away = np.abs(np.log(curves.poa_global / IRRADIANCE_REF))
        away += np.abs(curves.temperature_cell - TEMPERATURE_REF) / 100.0
        nearest = int(np.argmin(away))
        return cls(
            curves.chosen([nearest]),
            curves.chosen([k for k in range(len(away)) if k != nearest]),
        )

    def reference_voltage(self, current: Array) -> Array:
        """Voltage [V] of the one curve at currents of every other, (devices, curves, n)."""
        devices = len(current)
        return self.ref.voltage_at(current.reshape(devices, 1, -1)).reshape(current.shape)


Differences = Callable[[Compared, Corrections, Range], tuple[Array, Array, Array]]


def differences_2(both: Compared, c: Corrections, shares: Range) -> tuple[Array, Array, Array]:
    """Voltage still missing after procedure 2 without resistance, and what the two factors add.

    Each (devices, curves, CURRENTS).
    """
    ref, other = both.ref, both.others
    above_1, above_2 = (x.temperature_cell[:, None] - TEMPERATURE_REF for x in (other, ref))
    g_1, g_2 = other.poa_global[:, None], ref.poa_global[:, None]
    alpha, beta = _wide(c.alpha_sc), _wide(c.beta_voc)
    growth = g_2 / g_1 * (1 + alpha * above_2) / (1 + alpha * above_1)
    i_mp = np.minimum(ref.i_mp[..., None], growth * other.i_mp[..., None])
    i_2 = _between(shares[0] * i_mp, shares[1] * i_mp)
    i_1 = i_2 / growth
    log_1, log_2 = (np.log(IRRADIANCE_REF / g) for g in (g_1, g_2))
    f_1, f_2 = (_wide(c.b_2) * x**2 + _wide(c.b_1) * x + 1.0 for x in (log_1, log_2))
    moved = other.voltage_at(i_1) + _wide(c.v_oc) * (
        beta * (f_2 * above_2 - f_1 * above_1) + 1.0 / f_2 - 1.0 / f_1
    )
    missing = both.reference_voltage(i_2) - moved
    return missing, i_1 - i_2, -(above_1 * (i_2 - i_1) + i_2 * (above_2 - above_1))


def differences_1(both: Compared, c: Corrections, shares: Range) -> tuple[Array, Array, Array]:
    """The same for procedure 1, at currents that both curves have."""
    ref, other = both.ref, both.others
    rise = ref.temperature_cell[:, None] - other.temperature_cell[:, None]
    ratio = ref.poa_global[:, None] / other.poa_global[:, None]
    alpha = _wide(c.alpha_sc) * _wide(c.i_sc)
    by_light = other.i_sc[..., None] * (ratio - 1.0)
    shift = by_light + alpha * rise * ref.poa_global[:, None] / IRRADIANCE_REF
    i_mp = np.minimum(ref.i_mp[..., None], other.i_mp[..., None] + shift)
    i_2 = _between(np.maximum(shift, shares[0] * i_mp), shares[1] * i_mp)
    moved = other.voltage_at(i_2 - shift) + _wide(c.beta_voc) * _wide(c.v_oc) * rise
    missing = both.reference_voltage(i_2) - moved
    return missing, np.broadcast_to(-shift, i_2.shape), -i_2 * rise


def agreeing_resistance(
    both: Compared,
    start: Corrections,
    differences: Differences,
    with_kappa: bool,
    shares: Range,
) -> InternalResistance:
    """The two factors of one procedure, (devices,): least squares over all curves against one
    of them. Currents within `shares` of Imp are compared; kappa is zero without `with_kappa`.
    """
    missing, *added = differences(both, start, shares)
    devices = len(missing)
    columns = np.stack([x.reshape(devices, -1) for x in added[: 1 + with_kappa]], axis=-1)
    found = linear_answer(columns, missing.reshape(devices, -1))
    return InternalResistance(found[:, 0], found[:, 1] if with_kappa else np.zeros(devices))


def _wide(value: Numeric) -> Array:
    """What belongs to a device, beside (devices, curves, n)."""
    return np.asarray(value, dtype=float)[..., None, None]


def _between(low: Array, high: Array) -> Array:
    """CURRENTS evenly from `low` to `high`, both (devices, curves, 1)."""
    return low + (high - low) * SPREAD_OUT

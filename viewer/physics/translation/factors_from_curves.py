"""Correction factors of IEC 60891 determined from curves measured at several conditions.

The standard finds the internal series resistance by translating curves of different
irradiance onto each other and changing it until they agree, then kappa in the same way with
curves of different temperature; `curve_agreement` finds both at once.

Limits without a source are judgement.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from viewer.physics.conditions import IRRADIANCE_REF, TEMPERATURE_REF, kelvin
from viewer.physics.translation.condition_curve import ConditionCurve
from viewer.physics.translation.condition_curves import ConditionCurves
from viewer.physics.translation.corrections import Corrections, InternalResistance, Numeric
from viewer.physics.translation.curve_agreement import (
    NEAR_MAXIMUM_POWER,
    UP_TO_MAXIMUM_POWER,
    Compared,
    agreeing_resistance,
    differences_1,
    differences_2,
)
from viewer.physics.translation.voltage_by_irradiance import voltage_by_irradiance

Array = NDArray[np.float64]

LEAST_IRRADIANCE_RATIO = 1.15
"""Curves nearer to each other in irradiance say nothing reliable about series resistance."""

LEAST_TEMPERATURE_SPREAD = 8.0
"""K; curves nearer to each other in temperature say nothing reliable about kappa, alpha, beta."""


@dataclass(frozen=True)
class KnownAtReference:
    """What is known beforehand, as from a datasheet; None is determined from the curves.

    i_sc [A], v_oc [V] at STC; alpha_sc, beta_voc relative [1/K]; b_1, b_2 of procedure 2, given
    both or neither; cells_in_series of the whole device that the curves belong to. Numbers, or
    arrays (devices,).
    """

    cells_in_series: Numeric
    i_sc: Numeric | None = None
    v_oc: Numeric | None = None
    alpha_sc: Numeric | None = None
    beta_voc: Numeric | None = None
    b_1: Numeric | None = None
    b_2: Numeric | None = None


def factors_from_curves(
    curves: Sequence[ConditionCurve], known: KnownAtReference, source: str = ""
) -> Corrections:
    """Correction factors that make the curves of one device agree with each other.

    Raises ValueError with one sentence when the curves are too much alike to tell: fewer than
    two, irradiances within 15 %, or a temperature coefficient asked for from temperatures
    within 8 K. With temperatures within 8 K kappa is set to zero and `source` says so.
    """
    return factors_of_each(ConditionCurves.of(curves), known, source)[0]


def factors_of_each(
    curves: ConditionCurves, known: KnownAtReference, source: str = ""
) -> Corrections:
    """The same for many devices at once, as arrays (devices,)."""
    g, t = curves.poa_global, curves.temperature_cell
    if len(g) < 2 or g.max() < LEAST_IRRADIANCE_RATIO * g.min():
        raise ValueError(
            "The internal series resistance needs curves at two irradiances at least "
            f"{LEAST_IRRADIANCE_RATIO - 1:.0%} apart."
        )
    spread = float(np.ptp(t))
    if spread < LEAST_TEMPERATURE_SPREAD and (known.alpha_sc is None or known.beta_voc is None):
        raise ValueError(
            "Temperature coefficients need curves at cell temperatures at least "
            f"{LEAST_TEMPERATURE_SPREAD:.0f} K apart."
        )
    i_sc, alpha = _current_at_reference(curves, known)
    v_oc, beta, b_1, b_2 = voltage_by_irradiance(
        curves, known.v_oc, known.beta_voc, known.b_1, known.b_2
    )
    none = np.zeros_like(v_oc)
    cells = none + known.cells_in_series
    gap = (v_oc - beta * v_oc * float(kelvin(TEMPERATURE_REF))) / cells
    without = InternalResistance(none, none)
    start = Corrections(i_sc, v_oc, alpha, beta, without, without, none, b_1, b_2, cells, gap)
    with_kappa = spread >= LEAST_TEMPERATURE_SPREAD
    both, near = Compared.of(curves), NEAR_MAXIMUM_POWER
    first = agreeing_resistance(both, start, differences_1, with_kappa, near)
    second = agreeing_resistance(both, start, differences_2, with_kappa, near)
    physical = agreeing_resistance(both, start, differences_1, with_kappa, UP_TO_MAXIMUM_POWER)
    return replace(
        start,
        first=first,
        second=second,
        resistance_series=np.maximum(physical.resistance_series, 0.0),
        source=source or _words(len(g), with_kappa),
    )


def _words(count: int, with_kappa: bool) -> str:
    words = f"internal series resistance determined from {count} curves"
    return f"kappa and {words}" if with_kappa else f"{words}, kappa 0 as temperatures were alike"


def _current_at_reference(curves: ConditionCurves, known: KnownAtReference) -> tuple[Array, Array]:
    """Isc at STC [A] and alpha [1/K] of each device from a straight line over temperature."""
    devices = len(curves.voltage)
    if known.i_sc is not None and known.alpha_sc is not None:
        return np.full(devices, known.i_sc), np.full(devices, known.alpha_sc)
    scaled = curves.i_sc * IRRADIANCE_REF / curves.poa_global
    warmer = curves.temperature_cell - TEMPERATURE_REF
    if known.alpha_sc is not None:
        alpha = np.full(devices, known.alpha_sc)
        return np.mean(scaled / (1.0 + alpha[:, None] * warmer), axis=-1), alpha
    slope, level = np.polyfit(warmer, scaled.T, 1)
    return level if known.i_sc is None else np.full(devices, known.i_sc), slope / level

"""Correction factors of IEC 60891 determined from curves measured at several conditions.

The standard finds the internal series resistance by translating curves of different
irradiance onto each other and changing it until they agree, then kappa in the same way with
curves of different temperature. Both procedures are linear in the two factors, so here they
come out of one linear least-squares fit of voltage differences at equal currents, over all
curves at once, between open circuit and the maximum power point.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import least_squares

from viewer.physics.conditions import IRRADIANCE_REF, TEMPERATURE_REF, kelvin
from viewer.physics.translation.condition_curve import ConditionCurve
from viewer.physics.translation.corrections import Corrections, InternalResistance

Array = NDArray[np.float64]

CURRENTS = 25
"""Currents at which two curves are compared."""

Range = tuple[float, float]

NEAR_MAXIMUM_POWER: Range = (0.97, 1.01)
"""Curves are made to agree at currents within these shares of Imp, as the standard compares
maximum powers."""

UP_TO_MAXIMUM_POWER: Range = (0.0, 1.0)
"""The physical series resistance shows along the whole branch."""

LEAST_IRRADIANCE_RATIO = 1.15
"""Curves nearer to each other in irradiance say nothing reliable about series resistance."""

LEAST_TEMPERATURE_SPREAD = 8.0
"""K; curves nearer to each other in temperature say nothing reliable about kappa, alpha, beta."""


@dataclass(frozen=True)
class KnownAtReference:
    """What is known beforehand, as from a datasheet; None is determined from the curves.

    i_sc [A], v_oc [V] at STC; alpha_sc, beta_voc relative [1/K]; b_1, b_2 of procedure 2, given
    both or neither; cells_in_series of the whole device that the curves belong to.
    """

    cells_in_series: int
    i_sc: float | None = None
    v_oc: float | None = None
    alpha_sc: float | None = None
    beta_voc: float | None = None
    b_1: float | None = None
    b_2: float | None = None


def factors_from_curves(
    curves: Sequence[ConditionCurve], known: KnownAtReference, source: str = ""
) -> Corrections:
    """Correction factors that make the curves agree with each other.

    Raises ValueError with one sentence when the curves are too much alike to tell: fewer than
    two, irradiances within 15 %, or a temperature coefficient asked for from temperatures
    within 8 K. With temperatures within 8 K kappa is set to zero and `source` says so.
    """
    g = np.array([c.poa_global for c in curves])
    t = np.array([c.temperature_cell for c in curves])
    if len(curves) < 2 or g.max() < LEAST_IRRADIANCE_RATIO * g.min():
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
    i_sc, alpha = _current_at_reference(curves, g, t, known)
    v_oc, beta, b_1, b_2 = _voltage_at_reference(curves, g, t, known)
    none = InternalResistance(0.0, 0.0)
    gap = (v_oc - beta * v_oc * float(kelvin(TEMPERATURE_REF))) / known.cells_in_series
    start = Corrections(
        i_sc, v_oc, alpha, beta, none, none, 0.0, b_1, b_2, known.cells_in_series, gap
    )
    with_kappa = spread >= LEAST_TEMPERATURE_SPREAD
    near = NEAR_MAXIMUM_POWER
    first = _resistance(curves, start, _differences_1, with_kappa, near)
    second = _resistance(curves, start, _differences_2, with_kappa, near)
    physical = _resistance(curves, start, _differences_1, with_kappa, UP_TO_MAXIMUM_POWER)
    words = source or _words(curves, with_kappa)
    return Corrections(
        i_sc,
        v_oc,
        alpha,
        beta,
        first,
        second,
        np.maximum(physical.resistance_series, 0.0),
        b_1,
        b_2,
        known.cells_in_series,
        gap,
        words,
    )


def _words(curves: Sequence[ConditionCurve], with_kappa: bool) -> str:
    words = f"internal series resistance determined from {len(curves)} curves"
    return f"kappa and {words}" if with_kappa else f"{words}, kappa 0 as temperatures were alike"


def _current_at_reference(
    curves: Sequence[ConditionCurve], g: Array, t: Array, known: KnownAtReference
) -> tuple[float, float]:
    """Isc at STC [A] and alpha [1/K] from a straight line over temperature."""
    scaled = np.array([c.i_sc for c in curves]) * IRRADIANCE_REF / g
    warmer = t - TEMPERATURE_REF
    if known.alpha_sc is not None:
        mean = float(np.mean(scaled / (1.0 + known.alpha_sc * warmer)))
        return known.i_sc if known.i_sc is not None else mean, known.alpha_sc
    slope, level = np.polyfit(warmer, scaled, 1)
    i_sc = known.i_sc if known.i_sc is not None else float(level)
    return i_sc, float(slope / level)


def _voltage_at_reference(
    curves: Sequence[ConditionCurve], g: Array, t: Array, known: KnownAtReference
) -> tuple[float, float, float, float]:
    """Voc at STC [V], beta [1/K], b1 and b2 of procedure 2 from the curves' Voc.

    Procedure 2 says Voc(G, T) = Voc,STC (1/f(G) + beta f(G) (T - 25 °C)). b2 needs three
    irradiances and stays zero with two.
    """
    measured = np.array([c.v_oc for c in curves])
    logarithm, warmer = np.log(IRRADIANCE_REF / g), t - TEMPERATURE_REF
    free_b_2 = len(np.unique(np.round(logarithm, 1))) > 2

    def split(x: Array) -> tuple[float, float, float, float]:
        v_oc = known.v_oc if known.v_oc is not None else x[0] * measured.max()
        beta = known.beta_voc if known.beta_voc is not None else 0.01 * x[1]
        b_1 = known.b_1 if known.b_1 is not None else x[2]
        b_2 = known.b_2 if known.b_2 is not None else x[3] if free_b_2 else 0.0
        return float(v_oc), float(beta), float(b_1), float(b_2)

    def off(x: Array) -> Array:
        v_oc, beta, b_1, b_2 = split(x)
        f = b_2 * logarithm**2 + b_1 * logarithm + 1.0
        return (v_oc * (1.0 / f + beta * f * warmer) - measured) / measured

    return split(least_squares(off, np.array([1.0, -0.3, 0.04, 0.0])).x)


def _differences_2(
    ref: ConditionCurve, other: ConditionCurve, c: Corrections, shares: Range
) -> tuple[Array, Array, Array]:
    """Voltage still missing after procedure 2 without resistance, and what the two factors add."""
    above_1, above_2 = (x.temperature_cell - TEMPERATURE_REF for x in (other, ref))
    alpha, beta = c.alpha_sc, c.beta_voc
    growth = ref.poa_global / other.poa_global * (1 + alpha * above_2) / (1 + alpha * above_1)
    i_mp = min(ref.i_mp, growth * other.i_mp)
    i_2 = np.linspace(shares[0] * i_mp, shares[1] * i_mp, CURRENTS)
    i_1 = i_2 / growth
    log_1, log_2 = (np.log(IRRADIANCE_REF / x.poa_global) for x in (other, ref))
    f_1, f_2 = (c.b_2 * x**2 + c.b_1 * x + 1.0 for x in (log_1, log_2))
    moved = other.voltage_at(i_1) + c.v_oc * (
        beta * (f_2 * above_2 - f_1 * above_1) + 1.0 / f_2 - 1.0 / f_1
    )
    missing = ref.voltage_at(i_2) - moved
    return missing, -(i_2 - i_1), -(above_1 * (i_2 - i_1) + i_2 * (above_2 - above_1))


def _differences_1(
    ref: ConditionCurve, other: ConditionCurve, c: Corrections, shares: Range
) -> tuple[Array, Array, Array]:
    """The same for procedure 1, at currents that both curves have."""
    rise = ref.temperature_cell - other.temperature_cell
    ratio = ref.poa_global / other.poa_global
    alpha = c.alpha_sc * c.i_sc
    shift = other.i_sc * (ratio - 1.0) + alpha * rise * ref.poa_global / IRRADIANCE_REF
    i_mp = min(ref.i_mp, other.i_mp + shift)
    i_2 = np.linspace(max(shift, shares[0] * i_mp), shares[1] * i_mp, CURRENTS)
    moved = other.voltage_at(i_2 - shift) + c.beta_voc * c.v_oc * rise
    missing = ref.voltage_at(i_2) - moved
    return missing, np.full(CURRENTS, -shift), -i_2 * rise


Differences = Callable[
    [ConditionCurve, ConditionCurve, Corrections, Range], tuple[Array, Array, Array]
]


def _resistance(
    curves: Sequence[ConditionCurve],
    start: Corrections,
    differences: Differences,
    with_kappa: bool,
    shares: Range,
) -> InternalResistance:
    """The two factors of one procedure: least squares over all curves against one of them.

    Currents within `shares` of Imp are compared.
    """
    ref = min(
        curves,
        key=lambda c: (
            abs(np.log(c.poa_global / IRRADIANCE_REF))
            + abs(c.temperature_cell - TEMPERATURE_REF) / 100.0
        ),
    )
    missing, by_rs, by_kappa = (
        np.concatenate(part)
        for part in zip(
            *(differences(ref, other, start, shares) for other in curves if other is not ref),
            strict=True,
        )
    )
    columns = [by_rs, by_kappa] if with_kappa else [by_rs]
    found, *_ = np.linalg.lstsq(np.stack(columns, axis=-1), missing, rcond=None)
    return InternalResistance(float(found[0]), float(found[1]) if with_kappa else 0.0)

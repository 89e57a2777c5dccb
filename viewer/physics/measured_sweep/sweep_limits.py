"""What a sweep cannot tell: which key points and slopes are unknown, and why, in words.

Limits without a source are judgement.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from viewer.physics.curve_fit.fitted_points import (
    FILL,
    I_MP,
    I_SC,
    P_MP,
    SLOPE_OC,
    SLOPE_SC,
    V_MP,
    V_OC,
)
from viewer.physics.measured_sweep.sweep_estimates import SweepEstimate
from viewer.physics.measured_sweep.sweep_quality import SweepQuality, quality_uncertainty

Array = NDArray[np.float64]
NAN = float("nan")

FARTHEST_START = 0.35
"""Of Voc: a sweep that starts beyond does not tell Isc."""
FARTHEST_END = 0.5
"""Of Isc: a sweep that ends above does not tell Voc."""
WORST_KNOWN = 0.05
"""Relative standard uncertainty beyond which a key point counts as unknown."""
WORST_SLOPE = 0.4
"""The same for a slope."""
WORTH_SAYING = 0.005
"""Of Voc or of Vmp: a shorter extrapolation is not mentioned."""


@dataclass(frozen=True)
class EndSlopes:
    """-dV/dI at short circuit (apparent shunt resistance) and at open circuit (apparent series
    resistance, of which the diode itself is part) [ohm]; `conductance`: -dI/dV at short
    circuit [S], which stays finite and is given even when it cannot be told from zero.
    NaN for what the sweep does not tell.
    """

    resistance_shunt: float = NAN
    resistance_shunt_uncertainty: float = NAN
    resistance_series: float = NAN
    resistance_series_uncertainty: float = NAN
    conductance: float = NAN
    conductance_uncertainty: float = NAN


@dataclass(frozen=True, eq=False)
class Verdict:
    """Six `values` with their `uncertainty` (NaN for the unknown), slopes, and sentences."""

    values: Array
    uncertainty: Array
    slopes: EndSlopes
    remarks: tuple[str, ...]


def judge(
    voltage: Array, current: Array, estimate: SweepEstimate, quality: SweepQuality
) -> Verdict:
    """Keep what the clean sweep (by rising voltage) tells and say what it does not."""
    values, spread = estimate.values[:6].copy(), estimate.uncertainty[:6].copy()
    remarks = [
        *_isc_limits(voltage, estimate),
        *_voc_limits(voltage, current, estimate),
        *_maximum_limits(voltage, estimate),
    ]
    unknown = {which for which, _ in remarks if which is not None}
    said = [text for _, text in remarks]
    for which, name in ((I_SC, "Isc"), (V_OC, "Voc"), (P_MP, "Pmp")):
        share = spread[which] / abs(values[which]) if values[which] else np.inf
        if which not in unknown and not share < WORST_KNOWN:
            unknown.add(which)
            said.append(f"{name} is not known: the points leave it uncertain by {share:.0%}.")
    if P_MP in unknown:
        unknown |= {I_MP, V_MP}
    if unknown & {P_MP, I_SC, V_OC}:
        unknown.add(FILL)
    _add_quality(values, spread, quality)
    slopes, slope_remarks = _slopes(estimate, quality, unknown)
    for which in unknown:
        values[which] = spread[which] = NAN
    return Verdict(
        values, spread, slopes, (*said, *slope_remarks, *_shape_remarks(quality, estimate))
    )


def _add_quality(values: Array, spread: Array, quality: SweepQuality) -> None:
    extra = quality_uncertainty(quality)
    shares = {I_SC: extra[I_SC], I_MP: extra[I_SC], P_MP: extra[P_MP], FILL: extra[P_MP]}
    for which, share in shares.items():
        spread[which] = np.hypot(spread[which], share * values[which])


Limit = tuple[int | None, str]


def _isc_limits(voltage: Array, estimate: SweepEstimate) -> list[Limit]:
    first, v_oc = float(voltage[0]), estimate.values[V_OC]
    if first <= WORTH_SAYING * v_oc:
        return []
    if first > FARTHEST_START * v_oc:
        return [(I_SC, f"Isc is not known: the sweep starts at {first:.4g} V, far from 0 V.")]
    if first > 0.02 * v_oc:
        return [(None, f"Isc is extrapolated: the sweep starts at {first:.3g} V.")]
    return []


def _voc_limits(voltage: Array, current: Array, estimate: SweepEstimate) -> list[Limit]:
    lowest, i_sc, v_oc = float(current.min()), estimate.values[I_SC], estimate.values[V_OC]
    last = float(voltage[-1])
    if lowest > FARTHEST_END * i_sc:
        share = lowest / i_sc if i_sc > 0 else NAN
        return [(V_OC, f"Voc is not known: the sweep ends at {share:.0%} of Isc ({last:.4g} V).")]
    if v_oc - last > WORTH_SAYING * v_oc:
        return [
            (None, f"Voc is extrapolated by {v_oc - last:.3g} V: the sweep ends at {last:.4g} V.")
        ]
    return []


def _maximum_limits(voltage: Array, estimate: SweepEstimate) -> list[Limit]:
    v_mp, p_mp = estimate.values[V_MP], estimate.values[P_MP]
    if not p_mp > 0:
        return [(P_MP, "The sweep delivers no power.")]
    if v_mp > voltage[-2]:
        return [(P_MP, "Pmp is not known: the sweep ends before the maximum power point.")]
    if v_mp < voltage[1]:
        return [(P_MP, "Pmp is not known: the sweep starts beyond the maximum power point.")]
    return []


def _slopes(
    estimate: SweepEstimate, quality: SweepQuality, unknown: set[int]
) -> tuple[EndSlopes, list[str]]:
    remarks: list[str] = []
    shunt = shunt_u = series = series_u = conductance = conductance_u = NAN
    if I_SC not in unknown:
        conductance = -1.0 / estimate.values[SLOPE_SC]
        conductance_u = estimate.uncertainty[SLOPE_SC] * conductance**2
        v_mp, i_sc = estimate.values[V_MP], estimate.values[I_SC]
        if quality.drift:
            # drift over the plateau looks like a slope of its own
            conductance_u = float(np.hypot(conductance_u, quality.drift * i_sc / v_mp / 12**0.5))
        if conductance > 0 and conductance_u < WORST_SLOPE * conductance:
            shunt, shunt_u = 1.0 / conductance, conductance_u / conductance**2
        else:
            remarks.append(_shunt_sentence(conductance, conductance_u))
    else:
        remarks.append("The slope near Isc is not known, as Isc is not.")
    if V_OC not in unknown:
        series, series_u = -estimate.values[SLOPE_OC], estimate.uncertainty[SLOPE_OC]
        if not (series > 0 and series_u < WORST_SLOPE * series):
            remarks.append("The slope near Voc is not known: too few points lie near Voc.")
            series = series_u = NAN
    else:
        remarks.append("The slope near Voc is not known, as Voc is not.")
    numbers = (shunt, shunt_u, series, series_u, conductance, conductance_u)
    return EndSlopes(*(float(number) for number in numbers)), remarks


def _shunt_sentence(conductance: float, uncertainty: float) -> str:
    most = conductance + 1.645 * uncertainty
    if most > 0:
        return (
            "The slope near Isc cannot be told from zero; the apparent shunt resistance is "
            f"at least {1.0 / most:.3g} ohm (95 %)."
        )
    return "The current rises with voltage near Isc, so no shunt resistance can be given."


def _shape_remarks(quality: SweepQuality, estimate: SweepEstimate) -> list[str]:
    remarks: list[str] = []
    if quality.outliers:
        places = ", ".join(f"{v:.4g} V" for v, _ in quality.outliers[:3])
        more = " and more" if len(quality.outliers) > 3 else ""
        remarks.append(f"Left out as outliers: the points at {places}{more}.")
    if len(estimate.maxima) > 1:
        places = ", ".join(f"{p:.4g} W at {v:.4g} V" for v, p in estimate.maxima)
        remarks.append(f"The power has {len(estimate.maxima)} maxima: {places}.")
    if quality.drift_from.startswith("rise"):
        remarks.append(
            f"The current rises by {quality.drift:.1%} along the plateau: the irradiance "
            "changed during the sweep."
        )
    return remarks

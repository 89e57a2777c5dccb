"""Which part of a curve a finding is about: a stretch of voltage or current, and words for it."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from viewer.analysis.results.trace_result import CandidateCause, Curve, Signature, TraceResult
from viewer.physics.nomenclature import counted, with_minus

SHORT_END = 0.45
"""Part of Voc, from short circuit on, in which a leak shows as a slope."""
NEAR = 0.03
"""In Isc: points so close to a plateau's current belong to it."""
CAUSE_SHOWS: dict[str, tuple[str, ...]] = {
    "soiling": ("low_current", "step", "rounded_knee"),
    "shading": ("step", "rounded_knee"),
    "cell_fault": ("step",),
    "bypass_short": ("low_voltage",),
    "module_missing": ("low_voltage",),
    "series_resistance": ("slope_near_voc",),
    "shunt": ("slope_near_isc",),
    "module_mismatch": ("rounded_knee", "step", "slope_near_isc"),
    "degradation": ("low_current", "slope_near_voc", "low_voltage", "slope_near_isc"),
    "irradiance_input": ("inputs_suspect", "low_current", "slope_near_isc"),
    "temperature_input": ("inputs_suspect", "low_voltage"),
    "none": (),
}
"""Which kinds of signature speak for a cause, the foremost first."""


@dataclass(frozen=True)
class Highlight:
    """A stretch of a measured curve and, if any, a gap to the prediction.

    start, end: voltages [V]; level: current [A] of a plateau, None for none; gap: ends
    ((V, A), (V, A)) of a line from the measured to the predicted curve, None for none.
    """

    kind: str
    start: float
    end: float
    words: str
    level: float | None = None
    gap: tuple[tuple[float, float], tuple[float, float]] | None = None


def highlight_of(result: TraceResult, signature: Signature) -> Highlight | None:
    """What a signature is about on the curve as measured."""
    kind = signature.kind
    if kind == "inputs_suspect":
        current = signature.details.get("input") == "poa_global"
        kind = "low_current" if current else "low_voltage"
    makers = {
        "step": _step,
        "low_current": _current_gap,
        "low_voltage": _voltage_gap,
        "slope_near_isc": _slope_near_isc,
        "slope_near_voc": _slope_near_voc,
        "rounded_knee": _knee,
    }
    return makers[kind](result, signature) if kind in makers else None


def highlights_of_cause(result: TraceResult, cause: CandidateCause) -> tuple[Highlight, ...]:
    """What speaks for a cause on the curve: every signature of the foremost kind present."""
    for kind in CAUSE_SHOWS.get(cause.cause, ()):
        mine = [one for one in result.signatures if one.kind == kind and _fits(cause, one)]
        if mine:
            return highlights_of(result, mine)
    return ()


def highlights_of(result: TraceResult, signatures: Sequence[Signature]) -> tuple[Highlight, ...]:
    found = (highlight_of(result, one) for one in signatures)
    return tuple(one for one in found if one is not None)


def _fits(cause: CandidateCause, signature: Signature) -> bool:
    if signature.kind != "inputs_suspect":
        return True
    wanted = {"irradiance_input": "poa_global", "temperature_input": "temperature_cell"}
    return signature.details.get("input") == wanted.get(cause.cause)


def _step(result: TraceResult, signature: Signature) -> Highlight | None:
    """The plateau: the points near its current, or its span where the curve shows no flat part."""
    fraction = float(signature.details.get("current_fraction", signature.size))
    span = float(signature.details.get("voltage_span", 0.0))
    level = fraction * result.measured.i_sc
    curve = result.measured_curve
    falling = np.minimum.accumulate(curve.current)
    near = np.flatnonzero(np.abs(falling - level) <= NEAR * result.measured.i_sc)
    last = int(near[-1]) if near.size else int(np.searchsorted(-falling, -level))
    end = float(curve.voltage[min(last, curve.voltage.size - 1)])
    start = float(curve.voltage[near[0]]) if near.size else end
    if end - start < 0.5 * span:
        start = max(0.0, end - span)
    groups = signature.details.get("bypass_groups")  # None where they cannot be counted
    which = "Modules" if groups is None else counted(int(groups), "group")
    words = f"{which} at {level:.2f} A, {span:.0f} V wide"
    return Highlight("step", start, end, words, level)


def _current_gap(result: TraceResult, signature: Signature) -> Highlight | None:
    if result.predicted is None:
        return None
    end = 0.6 * result.measured.v_mp
    at = 0.3 * result.measured.v_mp
    measured = _current_at(result.measured_curve, at)
    if result.predicted_curve is None:
        return None
    predicted = _current_at(result.predicted_curve, at)
    words = with_minus(f"{measured - predicted:+.2f} A against predicted")
    return Highlight("low_current", 0.0, end, words, None, ((at, measured), (at, predicted)))


def _voltage_gap(result: TraceResult, signature: Signature) -> Highlight | None:
    if result.predicted is None:
        return None
    measured, predicted = result.measured.v_oc, result.predicted.v_oc
    words = with_minus(f"{measured - predicted:+.1f} V against predicted")
    low, high = sorted((measured, predicted))
    return Highlight("low_voltage", low, high, words, None, ((measured, 0.0), (predicted, 0.0)))


def _slope_near_isc(result: TraceResult, signature: Signature) -> Highlight:
    end = SHORT_END * result.measured.v_oc
    return Highlight("slope_near_isc", 0.0, end, "falls with voltage from Isc on")


def _slope_near_voc(result: TraceResult, signature: Signature) -> Highlight:
    start, end = result.measured.v_mp, result.measured.v_oc
    return Highlight("slope_near_voc", start, end, f"{signature.size:.2f} ohm more in series")


def _knee(result: TraceResult, signature: Signature) -> Highlight:
    middle = result.measured.v_mp
    reach = 0.5 * (result.measured.v_oc - middle)
    return Highlight("rounded_knee", 0.6 * middle, middle + reach, "rounded knee, many small steps")


def _current_at(curve: Curve, voltage: float) -> float:
    return float(np.interp(voltage, curve.voltage, curve.current))

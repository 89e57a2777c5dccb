"""Measured against predicted: every trace compared with its datasheet's model.

A group is the traces that may know of each other: one combiner on one visit.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass, field, replace

import numpy as np

from viewer.analysis.causes.findings import Findings, find
from viewer.analysis.causes.open_strings import LEAST_CURRENT
from viewer.analysis.causes.trace_reading import NO_CURRENT
from viewer.analysis.conditions.condition_sources import ConditionRules
from viewer.analysis.conditions.condition_thresholds import ConditionThresholds
from viewer.analysis.prediction.prediction import Prediction, predict
from viewer.analysis.prediction.preparation import Prepared, prepare
from viewer.analysis.prediction.site_models import SiteModels
from viewer.analysis.prediction.standard_conditions import (
    PROCEDURE,
    AtStandard,
    translate_to_standard,
)
from viewer.analysis.prediction.uncertainty_budget import UncertaintyCase, trace_uncertainties
from viewer.analysis.results.trace_result import TraceResult
from viewer.analysis.results.trace_uncertainty import TraceUncertainty
from viewer.physics.measured_sweep.key_points import KeyPoints
from viewer.physics.uncertainty.uncertainty import InputUncertainties
from viewer.site_data.iv_trace import Trace, Unreadable
from viewer.site_data.site_layout import SiteLayout

BEYOND_THE_MAXIMUM = 0.75
"""Of the greatest current: 999 of 1000 modules of pvlib's CEC list have their maximum power above
0.77 of Isc, so that a sweep which ends above may not have reached it."""
CONFUSED = 20.0
"""Times the predicted Isc or Voc beyond which a reading is taken for one in another unit or of the
other column: hardly a shaded sensor and no module is as far off (judgement)."""
STRONGEST_LIGHT = 1.5
"""Times the datasheet's Isc that no sun and no edge of a cloud reaches (judgement)."""
OF_VOC = (0.75, 1.2)
"""Times the datasheet's Voc between which a sound string's lies: weak light and heat take a
quarter, frost adds a fifth (judgement)."""


@dataclass(frozen=True)
class AnalysisInputs:
    """What the analysis takes as given and people may edit."""

    uncertainties: InputUncertainties = field(default_factory=InputUncertainties)
    procedure: int = PROCEDURE
    """Of IEC 60891, for translation to standard conditions: 1, 2 or 4."""
    rules: ConditionRules = field(default_factory=ConditionRules)
    """Which reading gives irradiance and temperature, in which order."""
    thresholds: ConditionThresholds = field(default_factory=ConditionThresholds)
    """Of the test-condition checks."""


def compare_groups(
    groups: Sequence[Sequence[Trace]],
    layout: SiteLayout,
    models: SiteModels,
    inputs: AnalysisInputs | None = None,
) -> tuple[TraceResult | Unreadable, ...]:
    """The result of every trace of the groups; a sweep that is none becomes Unreadable.

    Groups are taken together for speed; only traces of one group are held against each other:
    those of a combiner, and its combiners.
    """
    inputs = inputs or AnalysisInputs()
    group_of = {id(trace): number for number, group in enumerate(groups) for trace in group}
    traces = [trace for group in groups for trace in group]
    prepared, unusable = prepare(traces, layout, models, inputs.rules, inputs.thresholds)
    predicted = predict(prepared)
    standard = translate_to_standard(prepared, models, inputs.procedure)
    uncertain = trace_uncertainties(
        [uncertainty_case(one, layout, models) for one in prepared],
        inputs.uncertainties,
        inputs.procedure,
    )
    visits = [group_of[id(one.trace)] for one in prepared]
    numbers: dict[tuple[int, str | None], int] = {}
    combiners = [(visit, one.trace.combiner) for visit, one in zip(visits, prepared, strict=True)]
    neighbourhoods = [numbers.setdefault(combiner, len(numbers)) for combiner in combiners]
    found = find(prepared, predicted, neighbourhoods, layout, visits, inputs.uncertainties)
    results = [
        _result(*parts, layout)
        for parts in zip(prepared, predicted, standard, uncertain, found, strict=True)
    ]
    return (*results, *unusable)


def uncertainty_case(one: Prepared, layout: SiteLayout, models: SiteModels) -> UncertaintyCase:
    """What the uncertainty of a trace depends on, as far as it is known."""
    return UncertaintyCase(
        one.measured.values,
        one.measured.standard_uncertainty,
        one.swept,
        one.trace.conditions,
        one.conditions,
        one.string,
        one.model if one.predictable else None,
        models.corrections.get(one.string.module) if one.string else None,
        one.cable_resistance,
        _crystalline(one, layout),
    )


def _crystalline(one: Prepared, layout: SiteLayout) -> bool:
    sheet = layout.modules.get(one.string.module) if one.string else None
    return sheet is None or sheet.crystalline


def _result(
    one: Prepared,
    prediction: Prediction | None,
    moved: AtStandard | None,
    uncertainty: TraceUncertainty,
    found: Findings,
    layout: SiteLayout,
) -> TraceResult:
    measured = one.measured.values
    confused = _exchanged(one, layout) or _confused(one, prediction)
    known = prediction is not None and not confused and _shows_its_maximum(one)
    is_whole = math.isfinite(measured.v_oc)
    missing = one.missing
    is_dead = NO_CURRENT in found.missing
    ratio, ratio_uncertainty = None, None
    if prediction and known:
        ratio = measured.p_mp / prediction.key_points.p_mp
        ratio_uncertainty = uncertainty.power_ratio
    elif prediction and is_dead and not confused:  # its power is known, though not from its curve
        ratio, ratio_uncertainty = 0.0, LEAST_CURRENT
    if confused:  # said first, for the rest may follow from it
        missing = (confused, *missing)
        moved = None
    else:
        missing = (*missing, *found.missing)
    translated = moved.key_points if moved else None
    if not is_whole:  # beyond its end a translated curve is a straight line into nowhere
        translated = _as_far_as_measured(translated, measured, known)
        spread = _as_far_as_measured(uncertainty.translated, measured, known)
        uncertainty = replace(uncertainty, translated=spread)
    return TraceResult(
        trace=one.trace,
        measured=measured,
        measured_curve=one.swept,
        conditions=one.conditions,
        predicted=prediction.key_points if prediction else None,
        predicted_curve=prediction.curve if prediction else None,
        translated=translated,
        translated_curve=moved.curve if moved and is_whole else None,
        translation=moved.procedure if moved else "",
        power_ratio=ratio,
        power_ratio_uncertainty=ratio_uncertainty,
        signatures=() if confused else found.signatures,
        candidate_causes=() if confused else found.candidate_causes,
        uncertainty=uncertainty,
        sweep=one.measured,
        model_at_stc=prediction.at_stc if prediction else None,
        missing=missing,
    )


def _exchanged(one: Prepared, layout: SiteLayout) -> str:
    """What speaks for voltage and current in each other's columns, in words; else nothing.

    Told by the datasheet alone: read as it stands, the current is more than any light gives and the
    voltage too low, and each is right for the other.
    """
    sheet = layout.modules.get(one.string.module) if one.string else None
    if one.string is None or sheet is None:
        return ""
    measured = one.measured.values
    i_sc = sheet.i_sc * one.string.strings_in_parallel
    v_oc = sheet.v_oc * one.string.modules_in_series
    too_much = measured.i_sc > STRONGEST_LIGHT * i_sc and measured.v_oc < OF_VOC[0] * v_oc
    right = OF_VOC[0] * v_oc < measured.i_sc < OF_VOC[1] * v_oc
    if not (too_much and right and measured.v_oc < STRONGEST_LIGHT * i_sc):
        return ""
    return (
        "No findings: voltage and current look exchanged, for Isc is read as "
        f"{measured.i_sc:.3g} A and Voc as {measured.v_oc:.3g} V where the datasheet gives "
        f"{i_sc:.3g} A and {v_oc:.3g} V; exchange the two columns."
    )


def _confused(one: Prepared, prediction: Prediction | None) -> str:
    """What speaks for another unit or for another number of modules, in words; else nothing."""
    if prediction is None:
        return ""
    for name, label in (("i_sc", "Isc"), ("v_oc", "Voc")):
        times = getattr(one.measured.values, name) / getattr(prediction.key_points, name)
        if times > CONFUSED:
            return (
                f"No findings: {label} is {times:.3g} times what is predicted; check the units of "
                "the columns and the number of modules."
            )
    return ""


def _as_far_as_measured(
    points: KeyPoints | None, measured: KeyPoints, maximum_known: bool
) -> KeyPoints | None:
    """NaN for every key point that the sweep did not reach."""
    if points is None:
        return None
    reached = {name: math.isfinite(value) for name, value in measured.as_dict().items()}
    if not maximum_known:
        reached |= dict.fromkeys(("i_mp", "v_mp", "p_mp"), False)
    return KeyPoints(
        **{name: value if reached[name] else math.nan for name, value in points.as_dict().items()}
    )


def _shows_its_maximum(one: Prepared) -> bool:
    """Whether the sweep goes on beyond its greatest power, which else lies in noise at its end."""
    measured = one.measured.values
    if math.isfinite(measured.v_oc) or not math.isfinite(measured.p_mp):
        return math.isfinite(measured.p_mp)
    last = one.swept.current[np.argmax(one.swept.voltage)]
    return bool(last < BEYOND_THE_MAXIMUM * one.swept.current.max())

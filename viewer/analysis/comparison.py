"""Measured against predicted: every trace of one group compared with its datasheet's model.

A group is the traces that may know of each other: one combiner on one visit.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field

from viewer.analysis.findings import Findings, find
from viewer.analysis.prediction import Prediction, predict
from viewer.analysis.preparation import Prepared, prepare
from viewer.analysis.site_models import SiteModels
from viewer.analysis.standard_conditions import PROCEDURE, AtStandard, translate_to_standard
from viewer.analysis.trace_result import TraceResult
from viewer.physics.uncertainty import InputUncertainties
from viewer.site_data.iv_trace import Trace, Unreadable
from viewer.site_data.site_layout import SiteLayout


@dataclass(frozen=True)
class AnalysisInputs:
    """What the analysis takes as given and people may edit."""

    uncertainties: InputUncertainties = field(default_factory=InputUncertainties)
    procedure: int = PROCEDURE
    """Of IEC 60891, for translation to standard conditions: 1, 2 or 4."""


def compare_group(
    traces: Sequence[Trace],
    layout: SiteLayout,
    models: SiteModels,
    inputs: AnalysisInputs | None = None,
) -> tuple[TraceResult | Unreadable, ...]:
    """The result of every trace of one group; a sweep that is none becomes Unreadable."""
    inputs = inputs or AnalysisInputs()
    prepared, unusable = prepare(traces, layout, models)
    predicted = predict(prepared, inputs.uncertainties)
    standard = translate_to_standard(prepared, models, inputs.uncertainties, inputs.procedure)
    found = find(prepared, predicted, layout)
    results = [_result(*parts) for parts in zip(prepared, predicted, standard, found, strict=True)]
    return (*results, *unusable)


def _result(
    one: Prepared, prediction: Prediction | None, moved: AtStandard | None, found: Findings
) -> TraceResult:
    return TraceResult(
        trace=one.trace,
        measured=one.measured.values,
        measured_curve=one.swept,
        conditions=one.conditions,
        predicted=prediction.key_points if prediction else None,
        predicted_curve=prediction.curve if prediction else None,
        translated=moved.key_points if moved else None,
        translated_curve=moved.curve if moved else None,
        translation=moved.procedure if moved else "",
        power_ratio=prediction.power_ratio if prediction else None,
        power_ratio_uncertainty=prediction.power_ratio_uncertainty if prediction else None,
        signatures=found.signatures,
        candidate_causes=found.candidate_causes,
        measured_uncertainty=prediction.measured_uncertainty if prediction else None,
        predicted_uncertainty=prediction.uncertainty if prediction else None,
        translated_uncertainty=moved.uncertainty if moved else None,
        missing=one.missing,
    )

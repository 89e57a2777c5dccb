"""Measured against predicted: every trace of one group compared with its datasheet's model.

A group is the traces that may know of each other: one combiner on one visit.
"""

from collections.abc import Sequence

from viewer.analysis.prediction import Prediction, predict
from viewer.analysis.preparation import Prepared, prepare
from viewer.analysis.site_models import SiteModels
from viewer.analysis.standard_conditions import AtStandard, translate_to_standard
from viewer.analysis.trace_result import TraceResult
from viewer.site_data.iv_trace import Trace, Unreadable
from viewer.site_data.site_layout import SiteLayout


def compare_group(
    traces: Sequence[Trace], layout: SiteLayout, models: SiteModels
) -> tuple[TraceResult | Unreadable, ...]:
    """The result of every trace of one group; a sweep that is none becomes Unreadable."""
    prepared, unusable = prepare(traces, layout, models)
    predicted = predict(prepared)
    standard = translate_to_standard(prepared, models)
    results = [
        _result(one, prediction, moved)
        for one, prediction, moved in zip(prepared, predicted, standard, strict=True)
    ]
    return (*results, *unusable)


def _result(one: Prepared, prediction: Prediction | None, moved: AtStandard | None) -> TraceResult:
    values = one.measured.values
    return TraceResult(
        trace=one.trace,
        measured=values,
        measured_curve=one.swept,
        conditions=one.conditions,
        predicted=prediction.key_points if prediction else None,
        predicted_curve=prediction.curve if prediction else None,
        translated=moved.key_points if moved else None,
        translated_curve=moved.curve if moved else None,
        translation=moved.procedure if moved else "",
        power_ratio=values.p_mp / prediction.key_points.p_mp if prediction else None,
        missing=one.missing,
    )

"""Measured against predicted: every trace of one group compared with its datasheet's model.

A group is the traces that may know of each other: one combiner on one visit.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from viewer.analysis.condition_checks import resolve_conditions
from viewer.analysis.site_models import SiteModels
from viewer.analysis.trace_result import Curve, TraceResult, UsedConditions
from viewer.physics.key_points import KeyPoints, MeasuredKeyPoints, find_key_points_of_many
from viewer.physics.module_model import ModuleModel
from viewer.physics.nomenclature import KEY_POINT_NAMES
from viewer.physics.single_diode import DiodeParameters, curve, exact_key_points
from viewer.physics.sweep_cleaning import UnusableSweepError, clean_sweep
from viewer.site_data.iv_trace import Trace, Unreadable
from viewer.site_data.site_layout import SiteLayout, StringLayout

PREDICTED_POINTS = 200


@dataclass(frozen=True, eq=False)
class Prepared:
    """A trace with all that its comparison needs, as far as it is known."""

    trace: Trace
    swept: Curve
    measured: MeasuredKeyPoints
    string: StringLayout | None
    model: ModuleModel | None
    conditions: UsedConditions
    missing: tuple[str, ...]

    @property
    def predictable(self) -> bool:
        return self.model is not None and not self.missing


def prepare(
    traces: Sequence[Trace], layout: SiteLayout, models: SiteModels
) -> tuple[list[Prepared], list[Unreadable]]:
    """Cleaned sweeps with key points, string, model and conditions; and those that are none."""
    usable: list[tuple[Trace, Curve]] = []
    unusable: list[Unreadable] = []
    for trace in traces:
        try:
            voltage, current, _ = clean_sweep(trace.voltage, trace.current)
        except UnusableSweepError as error:
            unusable.append(Unreadable(trace.source, str(error)))
        else:
            usable.append((trace, Curve(voltage, current)))
    found = find_key_points_of_many([(swept.voltage, swept.current) for _, swept in usable])
    prepared = [
        _prepared(trace, swept, points, layout, models)
        for (trace, swept), points in zip(usable, found, strict=True)
    ]
    return prepared, unusable


def _prepared(
    trace: Trace,
    swept: Curve,
    measured: MeasuredKeyPoints,
    layout: SiteLayout,
    models: SiteModels,
) -> Prepared:
    string = layout.string(trace.combiner, trace.string)
    model = models.models.get(string.module) if string else None
    conditions = resolve_conditions(trace, layout, measured.values, model)
    missing = _what_is_missing(trace, string, layout, models, conditions)
    return Prepared(trace, swept, measured, string, model, conditions, missing)


def _what_is_missing(
    trace: Trace,
    string: StringLayout | None,
    layout: SiteLayout,
    models: SiteModels,
    conditions: UsedConditions,
) -> tuple[str, ...]:
    """One sentence for each thing without which nothing can be predicted."""
    missing = []
    if string is None:
        where = f"string {trace.string or '(unnamed)'} of combiner {trace.combiner or '(unnamed)'}"
        missing.append(
            f"No prediction: site.toml does not list {where}."
            if layout.combiners
            else "No prediction: there is no site.toml that lists strings and their modules."
        )
    elif string.module not in layout.modules:
        missing.append(f"No prediction: there is no usable datasheet for module {string.module}.")
    elif string.module in models.problems:
        said = " ".join(models.problems[string.module])
        missing.append(f"No prediction: the datasheet of {string.module} cannot be right: {said}")
    if conditions.poa_global is None:
        missing.append(f"No prediction: {conditions.irradiance_from}.")
    if conditions.temperature_cell is None:
        missing.append(f"No prediction: {conditions.temperature_from}.")
    return tuple(missing)


@dataclass(frozen=True, eq=False)
class Prediction:
    """What the datasheet's model gives for one trace's string at its conditions."""

    parameters: DiodeParameters
    key_points: KeyPoints
    curve: Curve


def predict(prepared: Sequence[Prepared]) -> list[Prediction | None]:
    """A prediction each, None where something is missing; one evaluation a module type."""
    predictions: list[Prediction | None] = [None] * len(prepared)
    by_module: dict[str, list[int]] = {}
    for index, one in enumerate(prepared):
        if one.predictable and one.string is not None:
            by_module.setdefault(one.string.module, []).append(index)
    for indices in by_module.values():
        for index, made in zip(indices, _of_one_type([prepared[k] for k in indices]), strict=True):
            predictions[index] = made
    return predictions


def _of_one_type(prepared: Sequence[Prepared]) -> list[Prediction]:
    model = prepared[0].model
    if model is None:
        return []
    strings = [one.string for one in prepared if one.string is not None]
    irradiance = [
        one.conditions.effective_irradiance or one.conditions.poa_global for one in prepared
    ]
    parameters = (
        model.operating(
            np.array(irradiance, dtype=float),
            np.array([one.conditions.temperature_cell for one in prepared], dtype=float),
        )
        .in_series([string.modules_in_series for string in strings])
        .in_parallel([string.strings_in_parallel for string in strings])
    )
    points = exact_key_points(parameters)
    voltage, current = curve(parameters, PREDICTED_POINTS)
    return [
        Prediction(
            parameters[k],
            KeyPoints(*(float(points[name][k]) for name in KEY_POINT_NAMES)),
            Curve(voltage[k], current[k]),
        )
        for k in range(len(prepared))
    ]


def compare_group(
    traces: Sequence[Trace], layout: SiteLayout, models: SiteModels
) -> tuple[TraceResult | Unreadable, ...]:
    """The result of every trace of one group; a sweep that is none becomes Unreadable."""
    prepared, unusable = prepare(traces, layout, models)
    results = [
        _result(one, prediction)
        for one, prediction in zip(prepared, predict(prepared), strict=True)
    ]
    return (*results, *unusable)


def _result(one: Prepared, prediction: Prediction | None) -> TraceResult:
    values = one.measured.values
    return TraceResult(
        trace=one.trace,
        measured=values,
        measured_curve=one.swept,
        conditions=one.conditions,
        predicted=prediction.key_points if prediction else None,
        predicted_curve=prediction.curve if prediction else None,
        power_ratio=values.p_mp / prediction.key_points.p_mp if prediction else None,
        missing=one.missing,
    )

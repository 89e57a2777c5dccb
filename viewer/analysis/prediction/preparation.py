"""A trace made ready for comparison: cleaned, with key points, string, model and conditions."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from viewer.analysis.conditions.condition_checks import (
    DEFAULT_RULES,
    DEFAULT_THRESHOLDS,
    resolve_many,
)
from viewer.analysis.conditions.condition_sources import ConditionRules
from viewer.analysis.conditions.condition_thresholds import ConditionThresholds
from viewer.analysis.prediction.site_models import SiteModels
from viewer.analysis.prediction.string_cable import string_cable_resistance
from viewer.analysis.results.trace_result import Curve, UsedConditions
from viewer.physics.datasheet.module_model import ModuleModel
from viewer.physics.measured_sweep.key_points import MeasuredKeyPoints, key_points_of_clean
from viewer.physics.sweep_cleaning import CleanSweep, UnusableSweepError, clean_sweep
from viewer.site_data.iv_trace import Trace, Unreadable
from viewer.site_data.site_layout import SiteLayout, StringLayout


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
    def cable_resistance(self) -> float:
        """Of one string's cable [ohm]."""
        return string_cable_resistance(self.string, self.trace.conditions)

    @property
    def predictable(self) -> bool:
        return self.model is not None and not self.missing


def prepare(
    traces: Sequence[Trace],
    layout: SiteLayout,
    models: SiteModels,
    rules: ConditionRules = DEFAULT_RULES,
    thresholds: ConditionThresholds = DEFAULT_THRESHOLDS,
) -> tuple[list[Prepared], list[Unreadable]]:
    """Cleaned sweeps with key points, string, model and conditions; and those that are none."""
    usable: list[tuple[Trace, CleanSweep]] = []
    unusable: list[Unreadable] = []
    for trace in traces:
        try:
            usable.append((trace, clean_sweep(trace.voltage, trace.current)))
        except UnusableSweepError as error:
            unusable.append(Unreadable(trace.source, str(error)))
    # The points as they were measured: their order tells one direction from the other.
    found = key_points_of_clean(
        [swept for _, swept in usable],
        [(trace.voltage, trace.current) for trace, _ in usable],
        [_irradiance_change(trace) for trace, _ in usable],
    )
    strings = [layout.string(trace.combiner, trace.string) for trace, _ in usable]
    fitted = [models.models.get(string.module) if string else None for string in strings]
    conditions = resolve_many(
        [trace for trace, _ in usable],
        layout,
        [points.values for points in found],
        fitted,
        rules,
        thresholds,
    )
    prepared = [
        Prepared(
            trace,
            Curve(*swept[:2]),
            points,
            string,
            model,
            used,
            _what_is_missing(trace, string, layout, models, used),
        )
        for (trace, swept), points, string, model, used in zip(
            usable, found, strings, fitted, conditions, strict=True
        )
    ]
    return prepared, unusable


def _irradiance_change(trace: Trace) -> float | None:
    """Irradiance after the sweep over that before it, less one; None where not both were read."""
    before, after = trace.conditions.poa_global, trace.conditions.poa_global_end
    if before is None or after is None or not before > 0:
        return None
    return after / before - 1


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
class FieldConditions:
    """Conditions and make-up of the strings of many traces, arrays of one length."""

    irradiance: NDArray[np.float64]
    """Effective, W/m²."""
    temperature_cell: NDArray[np.float64]
    modules_in_series: NDArray[np.float64]
    strings_in_parallel: NDArray[np.float64]
    cable_resistance: NDArray[np.float64]
    """Of each single string's cable, ohm."""


def field_conditions(prepared: Sequence[Prepared]) -> FieldConditions:
    """Of traces that are predictable."""
    strings = [one.string for one in prepared if one.string is not None]
    used = [one.conditions for one in prepared]
    return FieldConditions(
        np.array([one.effective_irradiance or one.poa_global for one in used], dtype=float),
        np.array([one.temperature_cell for one in used], dtype=float),
        np.array([one.modules_in_series for one in strings], dtype=float),
        np.array([one.strings_in_parallel for one in strings], dtype=float),
        np.array([one.cable_resistance for one in prepared], dtype=float),
    )

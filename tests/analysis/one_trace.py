"""The conditions of a single trace, for tests: the program resolves those of many at once."""

from viewer.analysis.conditions.condition_checks import (
    DEFAULT_RULES,
    DEFAULT_THRESHOLDS,
    resolve_many,
)
from viewer.analysis.conditions.condition_sources import ConditionRules
from viewer.analysis.conditions.condition_thresholds import ConditionThresholds
from viewer.analysis.results.trace_result import UsedConditions
from viewer.physics.datasheet.module_model import ModuleModel
from viewer.physics.measured_sweep.key_points import KeyPoints
from viewer.site_data.iv_trace import Trace
from viewer.site_data.site_layout import SiteLayout


def resolve_conditions(
    trace: Trace,
    layout: SiteLayout | None = None,
    measured: KeyPoints | None = None,
    model: ModuleModel | None = None,
    rules: ConditionRules = DEFAULT_RULES,
    thresholds: ConditionThresholds = DEFAULT_THRESHOLDS,
) -> UsedConditions:
    return resolve_many([trace], layout, [measured], [model], rules, thresholds)[0]

"""Traces of one device that can be held together: whole sweeps at known conditions."""

import math
from collections.abc import Sequence
from typing import Protocol

from viewer.analysis.prediction.preparation import Prepared
from viewer.analysis.results.trace_result import UsedConditions
from viewer.physics.translation.condition_curve import ConditionCurve
from viewer.site_data.iv_trace import Trace


def usable_traces(prepared: Sequence[Prepared]) -> tuple[list[Prepared], list[str]]:
    """The traces with irradiance, cell temperature, Isc and Voc, and a sentence on each other."""
    usable: list[Prepared] = []
    left_out: list[str] = []
    for one in prepared:
        why = _unusable(one)
        if why:
            left_out.append(f"{one.trace.source} is left out: {why}.")
        else:
            usable.append(one)
    return usable, left_out


def _unusable(one: Prepared) -> str:
    if one.conditions.poa_global is None:
        return one.conditions.irradiance_from
    if one.conditions.temperature_cell is None:
        return one.conditions.temperature_from
    values = one.measured.values
    if not math.isfinite(values.v_oc):
        return "the sweep ends before the open-circuit voltage"
    if not (math.isfinite(values.i_sc) and math.isfinite(values.p_mp)):
        return "the sweep does not show its short-circuit current or its maximum power"
    return ""


class Traced(Protocol):
    """A trace with the conditions that were taken for it: prepared, or with its results."""

    @property
    def trace(self) -> Trace: ...

    @property
    def conditions(self) -> UsedConditions: ...


def conditions_of(one: Traced) -> tuple[float, float]:
    """Effective irradiance [W/m²] and cell temperature [°C] of a usable trace."""
    used = one.conditions
    irradiance = used.effective_irradiance or used.poa_global
    if irradiance is None or used.temperature_cell is None:
        raise ValueError(f"{one.trace.source} has no conditions")
    return float(irradiance), float(used.temperature_cell)


def condition_curve(one: Prepared) -> ConditionCurve:
    return ConditionCurve(one.swept.voltage, one.swept.current, *conditions_of(one))

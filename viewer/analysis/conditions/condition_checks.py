"""The conditions of one trace: what was used and why, and whether they were good enough."""

from collections.abc import Sequence
from dataclasses import replace

from viewer.analysis.conditions.condition_sources import (
    ConditionRules,
    Device,
    Found,
    irradiance,
    known,
    rear_is_unknown,
    temperature,
    with_rear,
)
from viewer.analysis.conditions.condition_thresholds import ConditionThresholds
from viewer.analysis.conditions.conditions_by_curve import irradiance_by_isc, temperatures_by_voc
from viewer.analysis.conditions.possible_readings import Readings, possible_readings
from viewer.analysis.conditions.reading_checks import (
    at_most,
    irradiance_checks,
    missing_values,
    rear_checks,
    sun_checks,
    temperature_checks,
)
from viewer.analysis.conditions.sun_at_traces import SunAtTrace, sun_at_traces
from viewer.analysis.results.trace_result import Check, UsedConditions
from viewer.physics.datasheet.module_model import ModuleModel
from viewer.physics.measured_sweep.key_points import KeyPoints
from viewer.site_data.iv_trace import MeasuredConditions, Trace
from viewer.site_data.site_layout import SiteLayout

DEFAULT_RULES = ConditionRules()
DEFAULT_THRESHOLDS = ConditionThresholds()


def resolve_many(
    traces: Sequence[Trace],
    layout: SiteLayout | None = None,
    measured: Sequence[KeyPoints | None] | None = None,
    models: Sequence[ModuleModel | None] | None = None,
    rules: ConditionRules = DEFAULT_RULES,
    thresholds: ConditionThresholds = DEFAULT_THRESHOLDS,
) -> list[UsedConditions]:
    """The conditions each prediction should use, how they were found, and the checks on them.

    layout: the traces' site; its strings, datasheets, location and mounting serve what they
    can. measured: key points of each whole trace, for cross-checks against Voc and Isc.
    models: of one module of each trace's string, where it is fitted; the datasheet serves
    otherwise. One evaluation for all traces: give many at once.
    """
    readings = [possible_readings(trace.conditions) for trace in traces]
    points = list(measured) if measured is not None else [None] * len(traces)
    fitted = list(models) if models is not None else [None] * len(traces)
    devices = [_device(trace, layout, model) for trace, model in zip(traces, fitted, strict=True)]
    fronts = [
        irradiance(
            taken.read,
            irradiance_by_isc(_recorded_temperature(taken.read), device, one),
            rules,
        )
        for taken, device, one in zip(readings, devices, points, strict=True)
    ]
    used = [
        with_rear(front, taken.read, device)
        for front, taken, device in zip(fronts, readings, devices, strict=True)
    ]
    by_voc = temperatures_by_voc(devices, points, [one.value for one in used])
    suns = sun_at_traces(traces, layout)
    return [
        _conditions(trace, taken, front, whole, voc, sun, device, one, rules, thresholds)
        for trace, taken, front, whole, voc, sun, device, one in zip(
            traces, readings, fronts, used, by_voc, suns, devices, points, strict=True
        )
    ]


def _conditions(
    trace: Trace,
    taken: Readings,
    front: Found,
    used: Found,
    by_voc: float | None,
    sun: SunAtTrace,
    device: Device | None,
    measured: KeyPoints | None,
    rules: ConditionRules,
    thresholds: ConditionThresholds,
) -> UsedConditions:
    cell = temperature(taken.read, used.value, by_voc, _not_both_from_curve(front, rules))
    by_curve = {"poa_global": front.source == "isc", "temperature_cell": cell.source == "voc"}
    found = UsedConditions(
        front.value,
        cell.value,
        temperature_from=_words(cell, taken, "temperature_cell", "temperature_module"),
        irradiance_from=_words(used, taken, "poa_global", "reference_cell"),
        effective_irradiance=used.value,
        incidence_angle=sun.incidence,
        sun_elevation=sun.elevation,
        temperature_from_voc=by_voc,
        irradiance_from_isc=irradiance_by_isc(cell.value, device, measured),
        curve_decides=tuple(name for name, does in by_curve.items() if does),
        irradiance_source=front.source,
        temperature_source=cell.source,
        set_aside=taken.set_aside,
        rear_unknown=rear_is_unknown(front, taken.read, device),
    )
    return replace(found, checks=check_conditions(trace, taken.read, found, thresholds))


def _words(found: Found, taken: Readings, *names: str) -> str:
    """Where a condition comes from; of an unknown one, the reading that was set aside."""
    if found.value is None:
        for sentence in taken.set_aside:
            if sentence.startswith(names):
                return sentence
    return found.words


def _device(trace: Trace, layout: SiteLayout | None, model: ModuleModel | None) -> Device | None:
    string = layout.string(trace.combiner, trace.string) if layout else None
    sheet = layout.modules.get(string.module) if layout and string else None
    return Device.of(string, sheet, model)


def _recorded_temperature(read: MeasuredConditions) -> float | None:
    for value in (read.temperature_cell, read.temperature_module):
        if known(value):
            return value
    return None


def _not_both_from_curve(poa: Found, rules: ConditionRules) -> ConditionRules:
    """With irradiance from Isc, Voc may not give the temperature too: nothing would be left."""
    if poa.source != "isc":
        return rules
    order = tuple(source for source in rules.temperature_order if source != "voc")
    return replace(rules, temperature_order=order)


def check_conditions(
    trace: Trace, read: MeasuredConditions, used: UsedConditions, thresholds: ConditionThresholds
) -> tuple[Check, ...]:
    """Every check that the possible readings allow; a check without its values is left out.

    The trace's results stay whatever fails: checks say how far they can be trusted.
    """
    found = [missing_values(trace, used)]
    found += irradiance_checks(read, used, thresholds)
    found += rear_checks(used)
    found += temperature_checks(used, thresholds)
    found += sun_checks(used, thresholds)
    if known(read.wind_speed):
        found += at_most("wind", read.wind_speed, "wind_speed", "{:.1f} m/s", thresholds)
    return tuple(found)

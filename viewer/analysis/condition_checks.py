"""The conditions of one trace: what was used and why, and whether they were good enough."""

from dataclasses import replace
from datetime import datetime
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from viewer.analysis.condition_sources import (
    ConditionRules,
    Device,
    Found,
    irradiance,
    irradiance_of_isc,
    known,
    temperature,
    temperature_of_voc,
    with_rear,
)
from viewer.analysis.condition_thresholds import SOURCES, ConditionThresholds
from viewer.analysis.trace_result import Check, UsedConditions
from viewer.physics.key_points import KeyPoints
from viewer.physics.module_model import ModuleModel
from viewer.physics.sun_position import incidence_angle, sun_position, tracker_orientation
from viewer.site_data.iv_trace import MeasuredConditions, Trace
from viewer.site_data.site_layout import Mounting, SiteLayout

DEFAULT_RULES = ConditionRules()
DEFAULT_THRESHOLDS = ConditionThresholds()


def resolve_conditions(
    trace: Trace,
    layout: SiteLayout | None = None,
    measured: KeyPoints | None = None,
    model: ModuleModel | None = None,
    rules: ConditionRules = DEFAULT_RULES,
    thresholds: ConditionThresholds = DEFAULT_THRESHOLDS,
) -> UsedConditions:
    """The conditions the prediction should use, how they were found, and the checks on them.

    layout: the trace's site; its string, datasheet, location and mounting serve what they can.
    measured: key points of the whole trace, for cross-checks against Voc and Isc.
    model: of one module of the string, when it is fitted; the datasheet serves otherwise.
    """
    string = layout.string(trace.combiner, trace.string) if layout else None
    sheet = layout.modules.get(string.module) if layout and string else None
    device = Device.of(string, sheet, model)
    used = _used(trace.conditions, device, measured, rules)
    used = _with_sun(used, trace.measured_at, layout)
    return replace(used, checks=check_conditions(trace, used, thresholds))


def _used(
    read: MeasuredConditions,
    device: Device | None,
    measured: KeyPoints | None,
    rules: ConditionRules,
) -> UsedConditions:
    recorded = read.temperature_cell if known(read.temperature_cell) else read.temperature_module
    poa = irradiance(read, recorded, device, measured, rules)
    effective, rear_words = None, ""
    if poa.value is not None:
        effective, rear_words = with_rear(poa.value, read, device)
        if poa.source == "isc":
            effective, rear_words = poa.value, ""
    cell = temperature(read, effective, device, measured, _not_both_from_curve(poa, rules))
    by_isc = None
    if cell.value is not None:
        by_isc = irradiance_of_isc(cell.value, device, measured)
    return UsedConditions(
        poa.value,
        cell.value,
        temperature_from=cell.words,
        irradiance_from=poa.words + rear_words,
        effective_irradiance=effective,
        temperature_from_voc=temperature_of_voc(effective, device, measured),
        irradiance_from_isc=by_isc,
        curve_decides=(("poa_global",) if poa.source == "isc" else ())
        + (("temperature_cell",) if cell.source == "voc" else ()),
    )


def _not_both_from_curve(poa: Found, rules: ConditionRules) -> ConditionRules:
    """With irradiance from Isc, Voc may not give the temperature too: nothing would be left."""
    if poa.source != "isc":
        return rules
    order = tuple(source for source in rules.temperature_order if source != "voc")
    return replace(rules, temperature_order=order)


def _with_sun(
    used: UsedConditions, measured_at: datetime | None, layout: SiteLayout | None
) -> UsedConditions:
    """Sun elevation and incidence angle, where time and place are known."""
    if layout is None or layout.location is None or measured_at is None:
        return used
    place = layout.location
    when = _in_zone(measured_at, place.timezone)
    if when is None:
        return used
    sun = sun_position([when], place.latitude, place.longitude, place.altitude)
    used = replace(used, sun_elevation=float(sun.elevation[0]))
    if layout.mounting is None:
        return used
    tilt, azimuth = _orientation(layout.mounting, sun)
    return replace(used, incidence_angle=float(incidence_angle(sun, tilt, azimuth)[0]))


def _orientation(mounting: Mounting, sun):  # type: ignore[no-untyped-def]
    if not mounting.tracking:
        return mounting.tilt, mounting.azimuth
    return tracker_orientation(
        sun, mounting.tilt, mounting.azimuth, mounting.max_angle, mounting.ground_coverage_ratio
    )


def _in_zone(when: datetime, zone: str | None) -> datetime | None:
    """The moment with its time zone: its own, or the site's for a time without one."""
    if when.tzinfo is not None:
        return when
    if not zone:
        return None
    try:
        return when.replace(tzinfo=ZoneInfo(zone))
    except (ZoneInfoNotFoundError, ValueError):
        return None


def check_conditions(
    trace: Trace, used: UsedConditions, thresholds: ConditionThresholds = DEFAULT_THRESHOLDS
) -> tuple[Check, ...]:
    """Every check that the recorded values allow; a check without its values is left out.

    The trace's results stay whatever fails: checks say how far they can be trusted.
    """
    read = trace.conditions
    found = [_missing(trace, used)]
    found += _irradiance_checks(read, used, thresholds)
    found += _temperature_checks(used, thresholds)
    found += _sun_checks(used, thresholds)
    if known(read.wind_speed):
        found += _at_most("wind", read.wind_speed, "wind_speed", "{:.1f} m/s", thresholds)
    return tuple(found)


def _missing(trace: Trace, used: UsedConditions) -> Check:
    read = trace.conditions
    lacking = [
        found
        for found, value in (
            (used.irradiance_from, used.poa_global),
            (used.temperature_from, used.temperature_cell),
        )
        if value is None
    ]
    if "temperature_cell" in used.curve_decides:
        lacking.append("no temperature was recorded; the string's own Voc stands in for it")
    if "poa_global" in used.curve_decides:
        lacking.append("no irradiance was recorded; the string's own Isc stands in for it")
    if trace.measured_at is None:
        lacking.append("no time was recorded (measured_at)")
    if lacking:
        return Check("missing values", False, "; ".join(lacking))
    optional = [
        name
        for name, value in (
            ("irradiance at the end of the sweep", read.poa_global_end),
            ("wind speed", read.wind_speed),
        )
        if not known(value)
    ]
    detail = "irradiance, temperature and time were recorded"
    if optional:
        detail += f"; not recorded: {', '.join(optional)}"
    return Check("missing values", True, detail)


def _limit(thresholds: ConditionThresholds, name: str) -> float | None:
    value = getattr(thresholds, name)
    return None if value is None else float(value)


def _at_least(
    check: str, value: float, name: str, form: str, thresholds: ConditionThresholds
) -> list[Check]:
    limit = _limit(thresholds, name)
    if limit is None:
        return []
    passed = value >= limit
    words = "at least" if passed else "below"
    detail = f"{form.format(value)}, {words} {form.format(limit)} ({SOURCES[name]})"
    return [Check(check, passed, detail)]


def _at_most(
    check: str, value: float, name: str, form: str, thresholds: ConditionThresholds, what: str = ""
) -> list[Check]:
    limit = _limit(thresholds, name)
    if limit is None:
        return []
    passed = abs(value) <= limit
    words = "within" if passed else "above"
    detail = f"{what}{form.format(value)}, {words} {form.format(limit)} ({SOURCES[name]})"
    return [Check(check, passed, detail)]


def _irradiance_checks(
    read: MeasuredConditions, used: UsedConditions, thresholds: ConditionThresholds
) -> list[Check]:
    if used.poa_global is None:
        return []
    poa = used.poa_global
    checks = _at_least(
        "irradiance for power", poa, "irradiance_for_power", "{:.0f} W/m²", thresholds
    )
    checks += _at_least(
        "irradiance for comparison", poa, "irradiance_for_comparison", "{:.0f} W/m²", thresholds
    )
    checks += _at_most("irradiance plausible", poa, "irradiance_highest", "{:.0f} W/m²", thresholds)
    if known(read.poa_global) and known(read.poa_global_end) and read.poa_global > 0.0:
        drift = read.poa_global_end / read.poa_global - 1.0
        checks += _at_most(
            "irradiance drift",
            drift,
            "irradiance_drift",
            "{:+.1%}",
            thresholds,
            f"{read.poa_global:.0f} to {read.poa_global_end:.0f} W/m² over the sweep, ",
        )
    if used.irradiance_from_isc is not None and "poa_global" not in used.curve_decides:
        effective = used.effective_irradiance or poa
        checks += _at_most(
            "irradiance against Isc",
            used.irradiance_from_isc / effective - 1.0,
            "irradiance_difference",
            "{:+.1%}",
            thresholds,
            f"Isc stands for {used.irradiance_from_isc:.0f} W/m² where {effective:.0f} W/m² was "
            "used, ",
        )
    return checks


def _temperature_checks(used: UsedConditions, thresholds: ConditionThresholds) -> list[Check]:
    if used.temperature_cell is None:
        return []
    cell = used.temperature_cell
    low = _limit(thresholds, "temperature_lowest")
    high = _limit(thresholds, "temperature_highest")
    checks = []
    if low is not None and high is not None:
        inside = low <= cell <= high
        checks.append(
            Check(
                "temperature plausible",
                inside,
                f"{cell:.1f} °C, {'between' if inside else 'not between'} {low:g} and "
                f"{high:g} °C ({SOURCES['temperature_highest']})",
            )
        )
    if used.temperature_from_voc is not None and "temperature_cell" not in used.curve_decides:
        checks += _at_most(
            "cell temperature against Voc",
            used.temperature_from_voc - cell,
            "temperature_difference",
            "{:+.1f} K",
            thresholds,
            f"Voc stands for {used.temperature_from_voc:.1f} °C where {cell:.1f} °C was used, ",
        )
    return checks


def _sun_checks(used: UsedConditions, thresholds: ConditionThresholds) -> list[Check]:
    checks = []
    if used.sun_elevation is not None and used.poa_global is not None:
        up = used.sun_elevation > 0.0
        detail = f"the sun stood {used.sun_elevation:.1f}° above the horizon"
        if not up:
            detail = (
                f"the sun stood {-used.sun_elevation:.1f}° below the horizon at the recorded "
                "time; the clock, its time zone or the location is wrong"
            )
        checks.append(Check("time against sun", up, detail))
    if used.incidence_angle is not None:
        checks += _at_most(
            "incidence angle", used.incidence_angle, "incidence_angle", "{:.0f}°", thresholds
        )
    return checks

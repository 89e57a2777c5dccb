"""The single test-condition checks: each states its numbers and where its limit comes from."""

from viewer.analysis.conditions.condition_sources import known
from viewer.analysis.conditions.condition_thresholds import SOURCES, ConditionThresholds
from viewer.analysis.results.trace_result import IRRADIANCE_DRIFT, Check, UsedConditions
from viewer.site_data.iv_trace import MeasuredConditions, Trace

REAR_CHECK = "rear irradiance"
"""Fails on one side only: a string that is short without its rear light is short with it."""


def missing_values(trace: Trace, used: UsedConditions) -> Check:
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
    lacking += used.set_aside
    if trace.measured_at is None:
        lacking.append("no time was recorded (measured_at)")
    if lacking:
        return Check("missing values", False, "; ".join(dict.fromkeys(lacking)))
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


def at_least(
    check: str, value: float, name: str, form: str, thresholds: ConditionThresholds
) -> list[Check]:
    limit = getattr(thresholds, name)
    if limit is None:
        return []
    passed = value >= limit
    words = "at least" if passed else "below"
    detail = f"{form.format(value)}, {words} {form.format(limit)} ({SOURCES[name]})"
    return [Check(check, passed, detail)]


def at_most(
    check: str, value: float, name: str, form: str, thresholds: ConditionThresholds, what: str = ""
) -> list[Check]:
    limit = getattr(thresholds, name)
    if limit is None:
        return []
    passed = abs(value) <= limit
    words = "within" if passed else "beyond"
    bound = ("±" if "+" in form else "") + form.replace("+", "").format(limit)
    detail = f"{what}{form.format(value)}, {words} {bound} ({SOURCES[name]})"
    return [Check(check, passed, detail)]


def irradiance_checks(
    read: MeasuredConditions, used: UsedConditions, thresholds: ConditionThresholds
) -> list[Check]:
    if used.poa_global is None:
        return []
    poa = used.poa_global
    checks = at_least(
        "irradiance for power", poa, "irradiance_for_power", "{:.0f} W/m²", thresholds
    )
    checks += at_least(
        "irradiance for comparison", poa, "irradiance_for_comparison", "{:.0f} W/m²", thresholds
    )
    checks += at_most("irradiance plausible", poa, "irradiance_highest", "{:.0f} W/m²", thresholds)
    if known(read.poa_global) and known(read.poa_global_end) and read.poa_global > 0.0:
        drift = read.poa_global_end / read.poa_global - 1.0
        checks += at_most(
            IRRADIANCE_DRIFT,
            drift,
            "irradiance_drift",
            "{:+.1%}",
            thresholds,
            f"{read.poa_global:.0f} to {read.poa_global_end:.0f} W/m² over the sweep, ",
        )
    if used.irradiance_from_isc is not None and "poa_global" not in used.curve_decides:
        effective = used.effective_irradiance or poa
        checks += at_most(
            "irradiance against Isc",
            used.irradiance_from_isc / effective - 1.0,
            "irradiance_difference",
            "{:+.1%}",
            thresholds,
            f"Isc stands for {used.irradiance_from_isc:.0f} W/m² where {effective:.0f} W/m² was "
            "used, ",
        )
    return checks


def rear_checks(used: UsedConditions) -> list[Check]:
    """Failed where a bifacial module's rear irradiance is not known; no check for any other."""
    if not used.rear_unknown:
        return []
    detail = (
        "the module is bifacial and no rear irradiance was recorded (poa_rear): what light from "
        "behind adds counts as the string's own, so that power ratio and values at STC come out "
        "too high"
    )
    return [Check(REAR_CHECK, False, detail)]


def temperature_checks(used: UsedConditions, thresholds: ConditionThresholds) -> list[Check]:
    if used.temperature_cell is None:
        return []
    cell = used.temperature_cell
    low = thresholds.temperature_lowest
    high = thresholds.temperature_highest
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
        checks += at_most(
            "cell temperature against Voc",
            used.temperature_from_voc - cell,
            "temperature_difference",
            "{:+.1f} K",
            thresholds,
            f"Voc stands for {used.temperature_from_voc:.1f} °C where {cell:.1f} °C was used, ",
        )
    return checks


def sun_checks(used: UsedConditions, thresholds: ConditionThresholds) -> list[Check]:
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
        checks += at_most(
            "incidence angle", used.incidence_angle, "incidence_angle", "{:.0f}°", thresholds
        )
    return checks

"""Conditions from a log joined to traces by time, each with a remark that says from where."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from zoneinfo import ZoneInfo

import numpy as np

from viewer.analysis.conditions.condition_matching import Method, readings_at
from viewer.physics.nomenclature import quantity
from viewer.site_data.condition_log import ConditionLog
from viewer.site_data.iv_trace import Trace


class ClockZoneError(ValueError):
    """One of log and traces gives times with a UTC offset and the other without."""


@dataclass(frozen=True)
class JoinRules:
    """tolerance [s]: how far a reading may lie. clock_offset [s]: added to the traces' times.

    timezone: IANA name of the side whose times carry no UTC offset, if the other's do.
    replace_present: also where the trace's own file gives a reading.
    """

    tolerance: float = 60.0
    method: Method = "interpolated"
    clock_offset: float = 0.0
    timezone: str | None = None
    replace_present: bool = False


@dataclass(frozen=True)
class JoinedTraces:
    """The traces in their order, and the sources of those that got no reading."""

    traces: tuple[Trace, ...]
    unmatched: tuple[str, ...]


def log_seconds(traces: Iterable[Trace], log: ConditionLog, timezone: str | None) -> np.ndarray:
    """The traces' times [s] on the log's clock, NaN for undated ones. Raises ClockZoneError."""
    zone = ZoneInfo(timezone) if timezone else None
    return np.array([_seconds(trace.measured_at, log, zone) for trace in traces], dtype=float)


def join_conditions(
    traces: Sequence[Trace], log: ConditionLog, rules: JoinRules | None = None
) -> JoinedTraces:
    """Gives each trace the log's readings at its time. Raises ClockZoneError."""
    rules = rules or JoinRules()
    times = log_seconds(traces, log, rules.timezone) + rules.clock_offset
    matched = {
        name: readings_at(times, log.times, values, rules.tolerance, rules.method)
        for name, values in log.values.items()
    }
    joined: list[Trace] = []
    unmatched: list[str] = []
    for at, trace in enumerate(traces):
        found = {
            name: float(one.values[at])
            for name, one in matched.items()
            if np.isfinite(one.values[at])
            and (rules.replace_present or getattr(trace.conditions, name) is None)
        }
        if not any(np.isfinite(one.values[at]) for one in matched.values()):
            unmatched.append(trace.source)
        away = max((float(matched[name].distance[at]) for name in found), default=0.0)
        joined.append(_with_readings(trace, found, away, log, rules))
    return JoinedTraces(tuple(joined), tuple(unmatched))


def _seconds(moment: datetime | None, log: ConditionLog, zone: ZoneInfo | None) -> float:
    if moment is None:
        return float("nan")
    if (moment.tzinfo is not None) == log.zoned:
        return (moment if log.zoned else moment.replace(tzinfo=UTC)).timestamp()
    if zone is None:
        without, other = ("traces", "log") if log.zoned else ("log", "traces")
        raise ClockZoneError(
            f"the times of the {without} have no UTC offset, those of the {other} have; "
            "name the time zone, such as Europe/Lisbon."
        )
    if log.zoned:
        return moment.replace(tzinfo=zone).timestamp()
    return moment.astimezone(zone).replace(tzinfo=UTC).timestamp()


def _with_readings(
    trace: Trace, found: dict[str, float], away: float, log: ConditionLog, rules: JoinRules
) -> Trace:
    if not found:
        return trace
    said = ", ".join(
        f"{quantity(name).label.lower()} {quantity(name).text(value)} {quantity(name).unit}"
        for name, value in found.items()
    )
    offset = f", clock offset {rules.clock_offset:+.0f} s" if rules.clock_offset else ""
    remark = (
        f"From {log.source}: {said} ({rules.method}, reading at most {away:.0f} s away{offset})."
    )
    return replace(
        trace,
        conditions=replace(trace.conditions, **found),
        remarks=(*trace.remarks, remark),
    )

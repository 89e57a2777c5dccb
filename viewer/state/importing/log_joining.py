"""Conditions from a separate log joined to traces, by what somebody chose."""

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from viewer.analysis.conditions.clock_offset import estimate_clock_offset
from viewer.analysis.conditions.condition_joining import JoinRules, join_conditions, log_seconds
from viewer.physics.measured_sweep.key_points import find_key_points_of_many
from viewer.reading.condition_log_file import read_condition_log
from viewer.site_data.condition_log import ConditionLog
from viewer.site_data.iv_trace import Trace


@dataclass(frozen=True)
class LogChoice:
    """The log and how it is matched; `JoinRules` says what the numbers mean.

    clock_offset [s]: None to estimate it from the traces' short-circuit currents.
    """

    path: Path
    tolerance: float = 60.0
    nearest: bool = False
    clock_offset: float | None = 0.0
    timezone: str | None = None
    replace_present: bool = False


@dataclass(frozen=True)
class LoggedTraces:
    """The traces in their order, what was done in sentences, and the offset [s] used."""

    traces: tuple[Trace, ...]
    said: tuple[str, ...]
    clock_offset: float
    matched: int


def join_log(traces: Sequence[Trace], choice: LogChoice) -> LoggedTraces:
    """Each trace with the log's readings at its time. Raises ValueError with one sentence."""
    _check_zone(choice.timezone)
    log = read_condition_log(choice.path)
    offset = choice.clock_offset
    reason: tuple[str, ...] = ()
    if offset is None:
        offset, reason = _estimated(traces, log, choice.timezone)
    rules = JoinRules(
        tolerance=choice.tolerance,
        method="nearest" if choice.nearest else "interpolated",
        clock_offset=offset,
        timezone=choice.timezone,
        replace_present=choice.replace_present,
    )
    joined = join_conditions(traces, log, rules)
    said = (*log.remarks, *reason)
    if joined.unmatched:
        said += (
            f"Traces without a reading of {log.source} within {rules.tolerance:g} s: "
            f"{len(joined.unmatched):,} of {len(traces):,}, first {joined.unmatched[0]}.",
        )
    return LoggedTraces(joined.traces, said, offset, len(traces) - len(joined.unmatched))


def _check_zone(name: str | None) -> None:
    if not name:
        return
    try:
        ZoneInfo(name)
    except (ZoneInfoNotFoundError, ValueError, OSError, RecursionError) as error:
        raise ValueError(
            f"There is no time zone '{name[:40]}'; write one such as Europe/Lisbon."
        ) from error


def _estimated(
    traces: Sequence[Trace], log: ConditionLog, timezone: str | None
) -> tuple[float, tuple[str, ...]]:
    """The offset from the currents' pattern, 0 if it cannot be told, and why."""
    if "poa_global" not in log.values:
        raise ValueError(f"{log.source} logs no irradiance, so the clock cannot be compared.")
    points = find_key_points_of_many([(trace.voltage, trace.current) for trace in traces])
    found = estimate_clock_offset(
        log_seconds(traces, log, timezone),
        [one.values.i_sc for one in points],
        log.times,
        log.values["poa_global"],
    )
    return found.seconds or 0.0, (found.reason,)

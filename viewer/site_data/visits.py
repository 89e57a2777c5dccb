"""Which traces were taken on one trip.

The rule: in order of time, a pause of more than LONGEST_PAUSE between two traces begins
another visit. Traces without a time form a visit of their own, since nothing says where they
belong.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from viewer.site_data.iv_trace import Trace

LONGEST_PAUSE = timedelta(days=14)
"""A choice of ours, no source: a large site takes days, the next visit months."""


@dataclass(frozen=True)
class Visit:
    """One trip: the days it began and ended (None if undated) and its traces' sources."""

    name: str
    first_day: date | None
    last_day: date | None
    trace_ids: frozenset[str]


def visits_of(
    traces: Sequence[Trace], longest_pause: timedelta = LONGEST_PAUSE
) -> tuple[Visit, ...]:
    """Visits, earliest first, the undated one last. Days are those the traces' clocks showed."""
    dated = sorted(
        (trace.measured_at.date(), trace.source)
        for trace in traces
        if trace.measured_at is not None
    )
    groups: list[list[tuple[date, str]]] = []
    for day, source in dated:
        if groups and day - groups[-1][-1][0] <= longest_pause:
            groups[-1].append((day, source))
        else:
            groups.append([(day, source)])
    visits = [_visit(group) for group in groups]
    undated = frozenset(trace.source for trace in traces if trace.measured_at is None)
    if undated:
        visits.append(Visit("undated", None, None, undated))
    return tuple(visits)


def _visit(group: list[tuple[date, str]]) -> Visit:
    first, last = group[0][0], group[-1][0]
    name = first.isoformat() if first == last else f"{first.isoformat()} to {last.isoformat()}"
    return Visit(name, first, last, frozenset(source for _, source in group))

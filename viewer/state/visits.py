"""The visits of what is open, for the panes that show one at a time."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from viewer.site_data.iv_trace import Trace
from viewer.site_data.visit_grouping import group_visits


@dataclass(frozen=True)
class Visit:
    """One visit: its name, when it began (None if undated), and the ids of its traces."""

    name: str
    started_at: datetime | None
    trace_ids: frozenset[str]


def visits_of(traces: Sequence[Trace]) -> tuple[Visit, ...]:
    """The visits in order of time, undated traces last."""
    return tuple(
        Visit(
            group.name,
            group.started_at,
            frozenset(traces[place].source for place in group.members),
        )
        for group in group_visits(traces)
    )

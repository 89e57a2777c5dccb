"""Grouping of traces into visits."""

from datetime import UTC, datetime, timedelta

import numpy as np

from viewer.site_data.iv_trace import Trace
from viewer.site_data.visits import visits_of


def trace(source: str, measured_at: datetime | None) -> Trace:
    return Trace(source, np.zeros(5), np.zeros(5), measured_at=measured_at)


def test_a_long_pause_begins_a_visit():
    start = datetime(2023, 5, 1, 9)
    traces = [
        trace("d", start + timedelta(days=370)),
        trace("a", start),
        trace("c", start + timedelta(days=15)),
        trace("b", (start + timedelta(days=1)).replace(tzinfo=UTC)),
        trace("x", None),
    ]
    assert [(visit.name, sorted(visit.trace_ids)) for visit in visits_of(traces)] == [
        ("2023-05-01 to 2023-05-16", ["a", "b", "c"]),
        ("2024-05-05", ["d"]),
        ("undated", ["x"]),
    ]
    assert len(visits_of(traces, timedelta(days=13))) == 4


def test_no_traces_no_visits():
    assert visits_of([]) == ()

from tests.invented_results import invented_visits
from viewer.state.visits import visits_of


def test_every_trace_belongs_to_one_visit():
    traces = [one.trace for one in invented_visits()]
    first, second = visits_of(traces)
    assert first.trace_ids | second.trace_ids == {trace.source for trace in traces}
    assert first.trace_ids.isdisjoint(second.trace_ids)
    assert first.started_at < second.started_at

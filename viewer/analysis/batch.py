"""Many traces, group by group: a generator, so that progress and cancel come at each yield."""

from collections.abc import Iterable, Iterator, Sequence

from viewer.analysis.comparison import compare_group
from viewer.analysis.site_models import site_models
from viewer.analysis.trace_result import TraceResult
from viewer.site_data.iv_trace import Trace, Unreadable
from viewer.site_data.site_file.visit_grouping import group_visits
from viewer.site_data.site_layout import SiteLayout


def combiner_groups(traces: Iterable[Trace]) -> list[tuple[Trace, ...]]:
    """Traces that may know of each other: of one combiner, on one visit, in order of source."""
    everything = list(traces)
    groups: dict[tuple[int, str], list[Trace]] = {}
    for number, visit in enumerate(group_visits(everything)):
        for place in visit.members:
            trace = everything[place]
            groups.setdefault((number, trace.combiner or ""), []).append(trace)
    return [tuple(groups[key]) for key in sorted(groups)]


def analyze_traces(
    groups: Sequence[Sequence[Trace]], layout: SiteLayout
) -> Iterator[tuple[TraceResult | Unreadable, ...]]:
    """Compares the traces of each group; one tuple of outcomes a group."""
    models = site_models(layout.modules)
    for group in groups:
        yield compare_group(group, layout, models)

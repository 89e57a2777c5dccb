"""Many traces, group by group: a generator, so that progress and cancel come at each yield."""

import logging
from collections.abc import Iterable, Iterator, Sequence

from viewer.analysis.comparison import compare_group
from viewer.analysis.site_models import SiteModels, site_models
from viewer.analysis.trace_result import TraceResult
from viewer.site_data.iv_trace import Trace, Unreadable
from viewer.site_data.site_layout import SiteLayout
from viewer.site_data.visit_grouping import group_visits

log = logging.getLogger(__name__)


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
        yield _compare_or_say_why(group, layout, models)


def _compare_or_say_why(
    group: Sequence[Trace], layout: SiteLayout, models: SiteModels
) -> tuple[TraceResult | Unreadable, ...]:
    """The group's outcomes; a trace whose numbers defeat the mathematics leaves the rest alone."""
    try:
        return compare_group(group, layout, models)
    except (ArithmeticError, ValueError) as error:
        if len(group) > 1:
            return tuple(
                outcome for one in group for outcome in _compare_or_say_why([one], layout, models)
            )
        log.debug("%s could not be analysed", group[0].source, exc_info=True)
        return (Unreadable(group[0].source, f"{group[0].source} could not be analysed: {error}."),)

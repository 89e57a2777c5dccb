"""Many traces, group by group: a generator, so that progress and cancel come at each yield."""

import logging
from collections.abc import Iterable, Iterator, Sequence
from typing import Protocol, TypeVar

from viewer.analysis.comparison import AnalysisInputs, compare_groups
from viewer.analysis.prediction.site_models import SiteModels, site_models
from viewer.analysis.results.trace_result import TraceResult
from viewer.site_data.iv_trace import Trace, Unreadable
from viewer.site_data.site_layout import SiteLayout
from viewer.site_data.visit_grouping import Dated, group_visits

log = logging.getLogger(__name__)

Group = tuple[Trace, ...]


class Grouped(Dated, Protocol):
    """What decides which traces may know of each other: a trace's, or its place-holder's."""

    @property
    def combiner(self) -> str | None: ...


One = TypeVar("One", bound=Grouped)

TRACES_AT_FIRST, TRACES_AT_ONCE = 150, 450
"""Few, so that the first results come soon; then enough to compute side by side, few enough to
show progress."""
OF_ONE_GROUP = 100
"""Traces of a visit that are enough to tell a combiner from the others, and few enough to share."""
FEWEST_CHUNKS = 4
"""Of a few hundred traces, so that two processes can share them."""


def neighbour_groups(traces: Iterable[One]) -> list[tuple[One, ...]]:
    """Traces that may know of each other: a visit's combiners, whole, some together.

    In order of visit, combiner and source. A combiner more is taken as long as there are fewer than
    OF_ONE_GROUP traces, so that what is a group depends on its visit alone.
    """
    everything = list(traces)
    groups: list[tuple[One, ...]] = []
    for visit in group_visits(everything):
        combiners: dict[str, list[One]] = {}
        for place in visit.members:
            trace = everything[place]
            combiners.setdefault(trace.combiner or "", []).append(trace)
        gathered: list[One] = []
        for name in sorted(combiners):
            gathered += combiners[name]
            if len(gathered) >= OF_ONE_GROUP:
                groups.append(tuple(gathered))
                gathered = []
        if gathered:
            groups.append(tuple(gathered))
    return groups


def chunks(groups: Sequence[tuple[One, ...]]) -> Iterator[list[tuple[One, ...]]]:
    """Whole groups, taken together until they hold about so many traces as go at once.

    How many these are depends on all groups alone, so that results are the same to the last bit
    wherever they are computed.
    """
    gathered: list[tuple[One, ...]] = []
    share = sum(map(len, groups)) // FEWEST_CHUNKS
    enough, then = TRACES_AT_FIRST, min(max(share, TRACES_AT_FIRST), TRACES_AT_ONCE)
    for group in groups:
        gathered.append(group)
        if sum(map(len, gathered)) >= enough:
            yield gathered
            gathered, enough = [], then
    if gathered:
        yield gathered


def analyze_traces(
    groups: Sequence[Group], layout: SiteLayout, inputs: AnalysisInputs | None = None
) -> Iterator[tuple[TraceResult | Unreadable, ...]]:
    """Compares the traces of each group; one tuple of outcomes a chunk of groups."""
    models = site_models(layout.modules)
    for chunk in chunks(groups):
        yield compare_or_say_why(chunk, layout, models, inputs)


def compare_or_say_why(
    groups: Sequence[Group],
    layout: SiteLayout,
    models: SiteModels,
    inputs: AnalysisInputs | None = None,
) -> tuple[TraceResult | Unreadable, ...]:
    """The groups' outcomes; a trace whose numbers defeat the mathematics leaves the rest alone."""
    try:
        return compare_groups(groups, layout, models, inputs)
    except (ArithmeticError, ValueError) as error:
        parts: Sequence[Group] = groups if len(groups) > 1 else [(one,) for one in groups[0]]
        if len(parts) > 1:
            return tuple(
                outcome
                for part in parts
                for outcome in compare_or_say_why([part], layout, models, inputs)
            )
        source = groups[0][0].source
        log.debug("%s could not be analysed", source, exc_info=True)
        return (Unreadable(source, f"{source} could not be analysed: {str(error).rstrip('.')}."),)

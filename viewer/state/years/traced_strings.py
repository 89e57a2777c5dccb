"""What the visits say of each string alone: when it was traced, by which traces, how it stood."""

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass

from viewer.analysis.results.trace_result import TraceResult
from viewer.analysis.years.sample_plan import Place
from viewer.site_data.visit_grouping import UNDATED, VisitGroup


@dataclass(frozen=True, eq=False)
class TracedStrings:
    """By string: `visits` are places of the visits it was traced on, `last` the name of the last
    of these, `latest` the id of its latest trace, where an undated one counts as the earliest.

    on_visit: for each visit by its name, the string's last trace there.
    short: the strings whose power, when last traced, fell short by more than its uncertainty.
    """

    visits: dict[Place, tuple[int, ...]]
    last: dict[Place, str]
    latest: dict[Place, str]
    on_visit: dict[str, dict[Place, str]]
    short: tuple[Place, ...]


def traced_strings(results: Sequence[TraceResult], visits: Sequence[VisitGroup]) -> TracedStrings:
    """visits: those of the results, in order of time, undated ones last."""
    seen: dict[Place, list[int]] = defaultdict(list)
    last: dict[Place, TraceResult] = {}
    on_visit: dict[str, dict[Place, str]] = {}
    for number, visit in enumerate(visits):
        mine: dict[Place, str] = {}
        for member in visit.members:
            result = results[member]
            place = result.trace.place
            if place not in mine:
                seen[place].append(number)
            mine[place] = result.trace.source
            last[place] = result
        on_visit[visit.name] = on_visit.get(visit.name, {}) | mine
    latest = dict(on_visit.get(UNDATED, {}))
    for name, traces in on_visit.items():
        if name != UNDATED:
            latest |= traces
    return TracedStrings(
        {place: tuple(numbers) for place, numbers in seen.items()},
        {place: visits[numbers[-1]].name for place, numbers in seen.items()},
        latest,
        on_visit,
        tuple(place for place, result in last.items() if _fell_short(result)),
    )


def _fell_short(result: TraceResult) -> bool:
    ratio, uncertainty = result.power_ratio, result.power_ratio_uncertainty
    return ratio is not None and uncertainty is not None and ratio + uncertainty < 1.0

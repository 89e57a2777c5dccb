"""Which visit a report is about, and which one it is compared with."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime

from viewer.analysis.results.trace_result import TraceResult
from viewer.analysis.years.observation import Observed
from viewer.site_data.visit_grouping import VisitGroup, baseline_place, group_visits, visit_place


@dataclass(frozen=True)
class Baseline:
    """The visit chosen by its name, else the one that began at `start`, else the first."""

    name: str | None = None
    start: datetime | None = None


@dataclass(frozen=True)
class ReportedVisit:
    """`place` among the site's visits; `results` of its traces, `baseline` a place, too; `until`:
    the results of this visit and of those before it.

    Without any dated trace all traces are one visit, without a name or a baseline.
    """

    name: str | None
    place: int
    results: tuple[TraceResult, ...]
    baseline: int | None
    until: tuple[TraceResult, ...]

    def known_then(self, observed: Observed) -> Observed:
        """What was known at the end of the visit: nothing of later ones."""
        kept = tuple(one for one in observed.observations if one.visit <= self.place)
        return replace(observed, observations=kept, visits=observed.visits[: self.place + 1])


def reported_visit(
    results: Sequence[TraceResult], name: str | None = None, baseline: Baseline | None = None
) -> ReportedVisit:
    """The visit of that name, or the newest. Raises ValueError with one sentence."""
    visits = group_visits([one.trace for one in results])
    chosen = baseline or Baseline()
    then = baseline_place(visits, chosen.name, chosen.start)
    dated = [place for place, one in enumerate(visits) if one.started_at is not None]
    if name is not None:
        place = _named(visits, name)
    elif dated:
        place = dated[-1]
    else:
        return ReportedVisit(None, len(visits) - 1, tuple(results), None, tuple(results))
    members = tuple(results[member] for member in visits[place].members)
    later = {member for one in visits[place + 1 :] if one.started_at for member in one.members}
    until = tuple(one for member, one in enumerate(results) if member not in later)
    return ReportedVisit(visits[place].name, place, members, then, until)


def check_visit(results: Sequence[TraceResult], name: str) -> None:
    """Raises ValueError with one sentence when there is no visit of that name."""
    _named(group_visits([one.trace for one in results]), name)


def _named(visits: Sequence[VisitGroup], name: str) -> int:
    return visit_place([one.name for one in visits], name)

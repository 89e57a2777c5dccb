"""The worst strings of the open site and their cost, computed as a job."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

from viewer.analysis.losses.energy_cost import EnergyCost, YearOfLight, total
from viewer.analysis.losses.site_overview import CostlyString, worst_strings
from viewer.analysis.results.trace_result import TraceResult
from viewer.site_data.site_layout import SiteLayout
from viewer.state.losses.cost_terms import CostTerms, year_for
from viewer.state.program.jobs import Job, Outcome, Progress, Step
from viewer.state.program.notifier import Notifier
from viewer.state.session import Session

LISTED = 200
"""Most strings that the list shows; the sum counts all."""


@dataclass(frozen=True, eq=False)
class Losses:
    """The worst strings, the sum over all that lose, and whether energy is known."""

    worst: tuple[CostlyString, ...]
    count: int
    together: EnergyCost | None
    with_energy: bool
    judged: bool = True
    """Whether any string has a power ratio."""


def terms_of(session: Session) -> CostTerms:
    """What the settings say a kilowatt-hour is worth."""
    told = session.settings.value
    return CostTerms(
        told.energy_price or None,
        told.energy_currency,
        told.stated_yield or None,
        Path(told.typical_year) if told.typical_year else None,
    )


class SiteLosses:
    """Recomputes when it is asked and something has changed since."""

    def __init__(self, session: Session) -> None:
        self.changed = Notifier()
        self.found: Losses | None = None
        self.problem = ""
        self._session = session
        self._key: tuple[object, ...] | None = None
        self._job: Job | None = None

    def ensure(self) -> None:
        """Begin to compute unless that is done or under way for what is shown."""
        session = self._session
        results = session.results
        if session.is_loading or not results:
            return
        ids, terms, layout = session.shown_ids(), terms_of(session), session.layout
        key = (len(results), id(results[0]), id(results[-1]), ids, terms, id(layout))
        if key == self._key:
            return
        if self._job is not None:
            self._job.cancel()
        self._key = key
        chosen = [one for one in results if ids is None or one.trace.source in ids]
        self._job = Job("Worst strings", lambda: _steps(chosen, layout, terms), self._take)
        self._job.outcome.changed.connect(self._ended)
        session.jobs.start(self._job)

    def forget(self) -> None:
        """Another site."""
        if self._job is not None:
            self._job.cancel()
        self.found, self.problem, self._key, self._job = None, "", None, None
        self.changed.notify()

    def _take(self, found: Sequence[Losses]) -> None:
        self.found, self.problem = found[-1], ""
        self.changed.notify()

    def _ended(self, outcome: Outcome) -> None:
        if outcome.kind == "failed":
            self.found, self.problem = None, outcome.text
            self.changed.notify()


def _steps(
    results: Sequence[TraceResult], layout: SiteLayout | None, terms: CostTerms
) -> Iterator[Step]:
    yield Step(Progress(0, 1, "year of light"))
    year = year_for(layout, terms)
    yield Step(Progress(0, 1, "costs"))
    yield Step(Progress(1, 1, "costs"), losses_of(results, layout, year, terms))


def losses_of(
    results: Sequence[TraceResult],
    layout: SiteLayout | None,
    year: YearOfLight | None,
    terms: CostTerms,
) -> Losses:
    """All strings that lose, worst first."""
    every = worst_strings(results, layout, year, len(results), terms.price, terms.currency)
    together = total([one.cost for one in every]) if every else None
    judged = any(one.power_ratio is not None for one in results)
    return Losses(every[:LISTED], len(every), together, year is not None, judged)

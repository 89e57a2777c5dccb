"""What the visits say together: observations, rates and distributions, computed once for all panes.

The panes share this one object of the session. Nothing is computed until one of them asks, and
then in a job; whatever changes the results drops what was found.
"""

from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from functools import cached_property
from operator import attrgetter

import numpy as np
from numpy.typing import NDArray

from viewer.analysis.results.trace_result import TraceResult
from viewer.analysis.years.observation import Observation, Observed, observe
from viewer.analysis.years.sample_plan import Place
from viewer.analysis.years.string_rates import StringRates
from viewer.analysis.years.trend import Trend, trend
from viewer.physics.uncertainty.uncertainty import InputUncertainties
from viewer.site_data.site_file.annotations import Repair
from viewer.site_data.site_layout import SiteLayout
from viewer.site_data.visit_grouping import baseline_place
from viewer.site_data.warranty_terms import WarrantyTerms
from viewer.state.program.jobs import Job, Jobs, Progress, Step
from viewer.state.program.notifier import Notifier, Value
from viewer.state.years.traced_strings import TracedStrings, traced_strings


@dataclass(frozen=True, eq=False)
class YearsSource:
    """What the years are computed from."""

    layout: SiteLayout
    results: tuple[TraceResult, ...]
    repairs: tuple[Repair, ...]
    inputs: InputUncertainties


@dataclass(frozen=True, eq=False)
class VisitRatios:
    """The power ratios of one visit: ids of its traces and their ratios, in the same order.

    month: such as 2024-06, for an axis; the visit's name where it is undated.
    """

    visit: str
    month: str
    trace_ids: tuple[str, ...]
    ratios: NDArray[np.float64]

    @cached_property
    def places(self) -> dict[str, int]:
        """Where each trace stands."""
        return {name: place for place, name in enumerate(self.trace_ids)}


@dataclass(frozen=True, eq=False)
class Years:
    """Everything found about one site."""

    layout: SiteLayout
    observed: Observed
    trend: Trend
    ratios: tuple[VisitRatios, ...]
    repairs: tuple[Repair, ...]
    traced: TracedStrings
    by_string: dict[Place, tuple[Observation, ...]]
    """Each string's observations in order of time."""

    @property
    def visit_names(self) -> tuple[str, ...]:
        return tuple(visit.name for visit in self.observed.visits)

    @cached_property
    def rates(self) -> dict[Place, StringRates]:
        """The rates of each string that has some, repaired ones among them."""
        return {one.place: one for one in (*self.trend.strings, *self.trend.repaired)}

    def usable_visits(self) -> tuple[str, ...]:
        """Names of the visits that gave observations, in order of time."""
        seen = {one.visit for one in self.observed.observations}
        return tuple(name for place, name in enumerate(self.visit_names) if place in seen)


class OverYears:
    """Holds what was found, and what the panes about the years have been asked."""

    def __init__(self, jobs: Jobs, source: Callable[[], YearsSource | None]) -> None:
        self.changed = Notifier()
        """Something was found, or what was found no longer holds."""
        self.found: Years | None = None
        self.baseline: Value[str | None] = Value(None)
        """Name of the visit that others are compared with; None: the marked or first one."""
        self.marked_start: datetime | None = None
        """When the visit began that a site file marks as the baseline."""
        self.terms: Value[dict[str, WarrantyTerms]] = Value({})
        """Warranty terms entered in the window, by module key; they go before site.toml's."""
        self._jobs = jobs
        self._source = source
        self._job: Job | None = None

    def forget(self) -> None:
        """Drop what was found: the results have changed."""
        if self._job is not None:
            self._job.cancel()
            self._job = None
        if self.found is not None:
            self.found = None
            self.changed.notify()

    def begin_anew(self) -> None:
        """Another site was opened: drop what was entered for the one before, too."""
        self.baseline.value = None
        self.marked_start = None
        self.terms.value = {}
        self.forget()

    def ensure(self) -> None:
        """Begin to compute what is not known yet; nothing while a site is still being opened."""
        if self.found is not None or self._job is not None:
            return
        source = self._source()
        if source is None:
            return
        self._job = Job("Over the years", lambda: year_steps(source), self._take)
        self._job.outcome.changed.connect(self._ended)
        self._jobs.start(self._job)

    def _take(self, found: Sequence[Years]) -> None:
        self.found = found[-1]
        self.changed.notify()

    def _ended(self, _: object) -> None:
        if self._job is not None and self._job.outcome.value is not None:
            self._job = None

    def baseline_name(self) -> str | None:
        """The chosen baseline, else the one a site file marks, else the first usable visit."""
        if self.found is None:
            return self.baseline.value
        names = self.found.usable_visits()
        usable = [one for one in self.found.observed.visits if one.name in names]
        place = baseline_place(usable, self.baseline.value, self.marked_start)
        return None if place is None else usable[place].name

    def mark(self, started_at: datetime | None) -> None:
        """The site file marks another visit as the baseline."""
        if started_at != self.marked_start:
            self.marked_start = started_at
            if self.found is not None:
                self.changed.notify()


def year_steps(source: YearsSource) -> Iterator[Step]:
    """A job: observations first, then rates, so that it can be cancelled between."""
    total = 3
    yield Step(Progress(0, total, "values at STC"))
    observed = observe(source.results, source.layout, source.inputs)
    yield Step(Progress(1, total, "rates"))
    rates = trend(observed, source.layout, repair_days(source.repairs))
    yield Step(Progress(2, total, "distributions"))
    ratios = visit_ratios(source.results, observed)
    traced = traced_strings(source.results, observed.visits)
    strings = by_string(observed)
    found = Years(source.layout, observed, rates, ratios, source.repairs, traced, strings)
    yield Step(Progress(total, total, "done"), found)


def by_string(observed: Observed) -> dict[Place, tuple[Observation, ...]]:
    """Each string's observations in order of time."""
    found: dict[Place, list[Observation]] = defaultdict(list)
    for one in sorted(observed.observations, key=attrgetter("years")):
        found[one.place].append(one)
    return {place: tuple(ones) for place, ones in found.items()}


def repair_days(repairs: Iterable[Repair]) -> Mapping[Place, Sequence[date]]:
    """The days on which each string was mended."""
    days: dict[Place, list[date]] = defaultdict(list)
    for one in repairs:
        days[one.combiner, one.string].append(one.repaired_on)
    return days


def visit_ratios(results: Sequence[TraceResult], observed: Observed) -> tuple[VisitRatios, ...]:
    """The known power ratios of every visit, in order of time."""
    made = []
    for visit in observed.visits:
        mine = [results[place] for place in visit.members]
        known = [one for one in mine if one.power_ratio is not None]
        ratios = np.array([one.power_ratio for one in known], dtype=float)
        month = f"{visit.started_at:%Y-%m}" if visit.started_at else visit.name
        ids = tuple(one.trace.source for one in known)
        made.append(VisitRatios(visit.name, month, ids, ratios))
    return tuple(made)


@dataclass(frozen=True)
class BoxNumbers:
    """Five numbers of a distribution: least, quartiles with the median, greatest."""

    low: float
    quarter: float
    median: float
    three_quarters: float
    high: float


def box_numbers(ratios: NDArray[np.float64]) -> BoxNumbers | None:
    """Quartiles, and the most extreme values within 1.5 quartile distances of them.

    J. W. Tukey, Exploratory Data Analysis, 1977 (from memory). None when there is nothing.
    """
    known = ratios[np.isfinite(ratios)]
    if not known.size:
        return None
    first, middle, third = (float(one) for one in np.quantile(known, (0.25, 0.5, 0.75)))
    reach = 1.5 * (third - first)
    inside = known[(known >= first - reach) & (known <= third + reach)]
    return BoxNumbers(float(inside.min()), first, middle, third, float(inside.max()))

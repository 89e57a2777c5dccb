"""A string now against the same string then: what has changed beyond the uncertainty."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from math import hypot
from typing import NamedTuple

from viewer.analysis.years.observation import Observation, Observed
from viewer.analysis.years.trend import Trend
from viewer.physics.nomenclature import KEY_POINT_NAMES, quantity
from viewer.physics.uncertainty.uncertainty import COVERAGE


class Change(NamedTuple):
    """One key point at STC on two visits; `then` and `now` in its unit.

    percent: change in % of `then`; expanded: its expanded uncertainty (k = 2), percentage points.
    """

    name: str
    then: float
    now: float
    percent: float
    expanded: float

    @property
    def is_beyond(self) -> bool:
        """Whether the change is larger than its expanded uncertainty."""
        return abs(self.percent) > self.expanded

    def text(self) -> str:
        said = "changed" if self.is_beyond else "no change shown"
        label = quantity(self.name).label
        return f"{label} {self.percent:+.1f} ± {self.expanded:.1f} % (k = 2), {said}"


@dataclass(frozen=True)
class StringChange:
    """All key points of one string between two visits."""

    place: tuple[str, str]
    then: str
    """Source of the earlier trace."""
    now: str
    changes: tuple[Change, ...]

    @property
    def beyond(self) -> tuple[str, ...]:
        """Names of the key points that changed beyond their uncertainty."""
        return tuple(one.name for one in self.changes if one.is_beyond)

    def change(self, name: str) -> Change:
        return next(one for one in self.changes if one.name == name)


def changes(
    then: Observation, now: Observation, *, same_instruments: bool = False
) -> tuple[Change, ...]:
    """The change of each key point.

    Both traces' uncertainties add as independent ones. With `same_instruments` what is common
    to a visit falls out, because one and the same sensor and tracer, not adjusted in between,
    read both in the same way; drift of the sensor is then not covered.
    """
    return _changes(then, now, _together(then, now, same_instruments))


def _changes(then: Observation, now: Observation, relative: dict[str, float]) -> tuple[Change, ...]:
    made = []
    for name, uncertainty in relative.items():
        first, second = then.values[name], now.values[name]
        ratio = second / first
        expanded = COVERAGE * 100 * ratio * uncertainty
        made.append(Change(name, first, second, 100 * (ratio - 1), expanded))
    return tuple(made)


def _together(then: Observation, now: Observation, same_instruments: bool) -> dict[str, float]:
    """Relative standard uncertainty of the ratio of each key point."""
    found = {}
    for name in KEY_POINT_NAMES:
        both = then.uncertainty[name], now.uncertainty[name]
        found[name] = hypot(*(one.own if same_instruments else one.total for one in both))
    return found


def visit_changes(
    observed: Observed, then: int, now: int, *, same_instruments: bool = False
) -> list[StringChange]:
    """Every string traced on both visits (places in `observed.visits`), in order of the later.

    Of several traces of a string on one visit a cleaned one counts before others, then the last.
    """
    before = _chosen(observed.observations, then)
    after = _chosen(observed.observations, now)
    together: dict[tuple[int, int], dict[str, float]] = {}
    found = []
    for place, one in after.items():
        if place not in before:
            continue
        first = before[place]
        kind = id(first.uncertainty), id(one.uncertainty)  # one for all strings of a module type
        if kind not in together:
            together[kind] = _together(first, one, same_instruments)
        found.append(
            StringChange(place, first.source, one.source, _changes(first, one, together[kind]))
        )
    return found


@dataclass(frozen=True, eq=False)
class SinceBaseline:
    """What traces are held against: the observations, the baseline's place, and the rates."""

    observed: Observed
    baseline: int
    trend: Trend

    @property
    def visit(self) -> str:
        """Name of the baseline visit."""
        return self.observed.visits[self.baseline].name

    def of_traces(self, sources: Iterable[str]) -> list[StringChange]:
        """The change of each of these traces, in their order; none of the baseline's own."""
        visits = {one.source: one.visit for one in self.observed.observations}
        wanted = list(sources)
        found: dict[str, StringChange] = {}
        for visit in sorted({visits[one] for one in wanted if one in visits} - {self.baseline}):
            made = visit_changes(self.observed, self.baseline, visit)
            found |= {one.now: one for one in made}
        return [found[one] for one in wanted if one in found]


def _chosen(observations: Sequence[Observation], visit: int) -> dict[tuple[str, str], Observation]:
    chosen: dict[tuple[str, str], Observation] = {}
    for one in (each for each in observations if each.visit == visit):
        known = chosen.get(one.place)
        if known is None or _rank(one) >= _rank(known):
            chosen[one.place] = one
    return chosen


def _rank(one: Observation) -> tuple[bool, float]:
    return bool(one.cleaned), one.years

"""A string now against the same string then: what has changed beyond the uncertainty."""

from collections.abc import Sequence
from dataclasses import dataclass
from math import hypot

from viewer.analysis.observation import Observation, Observed
from viewer.physics.nomenclature import KEY_POINT_NAMES, quantity
from viewer.physics.uncertainty import COVERAGE


@dataclass(frozen=True)
class Change:
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
    made = []
    for name in KEY_POINT_NAMES:
        first, second = then.values[name], now.values[name]
        ratio = second / first
        parts = [
            share.own if same_instruments else share.total
            for share in (then.uncertainty[name], now.uncertainty[name])
        ]
        expanded = COVERAGE * 100 * ratio * hypot(*parts)
        made.append(Change(name, first, second, 100 * (ratio - 1), expanded))
    return tuple(made)


def visit_changes(
    observed: Observed, then: int, now: int, *, same_instruments: bool = False
) -> list[StringChange]:
    """Every string traced on both visits (places in `observed.visits`), in order of the later.

    Of several traces of a string on one visit a cleaned one counts before others, then the last.
    """
    before = _chosen(observed.observations, then)
    after = _chosen(observed.observations, now)
    return [
        StringChange(
            place,
            before[place].source,
            one.source,
            changes(before[place], one, same_instruments=same_instruments),
        )
        for place, one in after.items()
        if place in before
    ]


def _chosen(observations: Sequence[Observation], visit: int) -> dict[tuple[str, str], Observation]:
    chosen: dict[tuple[str, str], Observation] = {}
    for one in observations:
        if one.visit == visit and (
            one.place not in chosen or _rank(one) >= _rank(chosen[one.place])
        ):
            chosen[one.place] = one
    return chosen


def _rank(one: Observation) -> tuple[bool, float]:
    return bool(one.cleaned), one.years

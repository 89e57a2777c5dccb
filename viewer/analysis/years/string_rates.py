"""The rate of every string from its observations over the visits."""

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from math import hypot, sqrt

import numpy as np
from numpy.typing import NDArray

from viewer.analysis.years.observation import QUANTITIES, Observation, Shares
from viewer.analysis.years.rate import Rate
from viewer.analysis.years.weighted_line import COVERAGE_95, LineFits, fit_lines, robust_slope

Array = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class StringRates:
    """Rates of one string for each of QUANTITIES, %/year.

    own: standard uncertainty of each rate that no other string shares, already widened where
    the points scatter more than stated; by_visit: how much an error common to a visit (one
    standard uncertainty of it) moves the rate, for each quantity and visit.
    """

    place: tuple[str, str]
    module_type: str
    visits: tuple[int, ...]
    first: float
    last: float
    rates: dict[str, Rate]
    own: dict[str, float]
    by_visit: dict[str, dict[int, float]]
    theil_sen: Rate | None
    excess: float
    """Scatter of power about the line over the stated uncertainty; NaN with two visits."""

    @property
    def span(self) -> float:
        return self.last - self.first


def per_visit(observations: Sequence[Observation]) -> list[Observation]:
    """One observation a string and visit: the mean where a string was traced more than once."""
    groups: dict[tuple[tuple[str, str], int], list[Observation]] = defaultdict(list)
    for one in observations:
        groups[one.place, one.visit].append(one)
    return [_mean(group) if len(group) > 1 else group[0] for group in groups.values()]


def _mean(group: list[Observation]) -> Observation:
    count = len(group)
    return replace(
        group[0],
        years=sum(one.years for one in group) / count,
        values={name: sum(one.values[name] for one in group) / count for name in QUANTITIES},
        uncertainty={
            name: Shares(share.own / sqrt(count), share.common)
            for name, share in group[0].uncertainty.items()
        },
    )


def string_rates(observations: Sequence[Observation]) -> list[StringRates]:
    """Rates of the strings seen on at least two visits, in the order they first appear."""
    by_place: dict[tuple[str, str], list[Observation]] = defaultdict(list)
    for one in per_visit(observations):
        by_place[one.place].append(one)
    series = [sorted(ones, key=lambda o: o.years) for ones in by_place.values() if len(ones) > 1]
    if not series:
        return []
    flat = [one for ones in series for one in ones]
    group = np.repeat(np.arange(len(series)), [len(ones) for ones in series])
    start = np.array([ones[0].years for ones in series])
    x = np.array([one.years for one in flat]) - start[group]
    lines = {name: _Lines(name, series, flat, group, x) for name in QUANTITIES}
    return [_one_string(number, ones, lines) for number, ones in enumerate(series)]


class _Lines:
    """The lines of one quantity through all strings, as rates with their shares of error."""

    def __init__(
        self,
        name: str,
        series: Sequence[Sequence[Observation]],
        flat: Sequence[Observation],
        group: NDArray[np.intp],
        x: Array,
    ) -> None:
        first = np.array([ones[0].values[name] for ones in series])
        self.x = x
        self.y = np.array([one.values[name] for one in flat]) / first[group]
        self.ends = np.cumsum(np.bincount(group))
        own = np.array([one.uncertainty[name].own for one in flat]) * self.y
        common = np.array([one.uncertainty[name].common for one in flat]) * self.y
        self.fit: LineFits = fit_lines(group, x, self.y, np.hypot(own, common))
        self.rate = 100 * self.fit.slope / self.fit.intercept
        share = _rate_share(self.fit, group)
        self.own = np.sqrt(np.bincount(group, weights=(share * own) ** 2)) * self.fit.widening
        self.from_visit = share * common

    def places(self, number: int) -> NDArray[np.intp]:
        """Where the points of one string lie in the arrays of all."""
        return np.arange(self.ends[number - 1] if number else 0, self.ends[number])


def _rate_share(fit: LineFits, group: NDArray[np.intp]) -> Array:
    """How much each point's relative error moves its string's rate in %/year (first order)."""
    level, slope = fit.intercept[group], fit.slope[group]
    return (100 / level) * (fit.slope_share - slope / level * fit.intercept_share)


def _one_string(
    number: int, ones: Sequence[Observation], lines: Mapping[str, _Lines]
) -> StringRates:
    rates: dict[str, Rate] = {}
    own: dict[str, float] = {}
    by_visit: dict[str, dict[int, float]] = {}
    for name, line in lines.items():
        places = line.places(number)
        own[name] = float(line.own[number])
        by_visit[name] = {
            one.visit: float(line.from_visit[place])
            for one, place in zip(ones, places, strict=True)
        }
        half = COVERAGE_95 * hypot(own[name], *by_visit[name].values())
        value = float(line.rate[number])
        rates[name] = Rate(value, value - half, value + half)
    power = lines["p_mp"]
    places = power.places(number)
    return StringRates(
        place=ones[0].place,
        module_type=ones[0].module_type,
        visits=tuple(one.visit for one in ones),
        first=ones[0].years,
        last=ones[-1].years,
        rates=rates,
        own=own,
        by_visit=by_visit,
        theil_sen=_robust(power.x[places], power.y[places]),
        excess=float(power.fit.excess[number]),
    )


def _robust(x: Array, y: Array) -> Rate | None:
    """Theil-Sen in % of the median level at the first visit per year."""
    found = robust_slope(x, y)
    if found is None:
        return None
    level = float(np.median(y - found.slope * x))
    return Rate(100 * found.slope / level, 100 * found.low / level, 100 * found.high / level)

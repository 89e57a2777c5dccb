"""Degradation over the years: per string, combiner, module type and for the whole site."""

from collections import Counter, defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from math import hypot

import numpy as np

from viewer.analysis.years.observation import QUANTITIES, Observation, Observed
from viewer.analysis.years.random_effects import stratified_mean
from viewer.analysis.years.rate import Rate, driver, verdict
from viewer.analysis.years.soiling_pairs import SoilingLoss, soiling_losses, without_soiling
from viewer.analysis.years.string_rates import StringRates, string_rates
from viewer.analysis.years.weighted_line import COVERAGE_95, median_interval
from viewer.physics.nomenclature import quantity
from viewer.site_data.site_layout import SiteLayout

LABELS: dict[str, str] = {name: quantity(name).label for name in QUANTITIES}
OUTLYING = 3.5
"""Robust z-score beyond which a string stands out: B. Iglewicz and D. C. Hoaglin, How to Detect
and Handle Outliers, 1993 (from memory)."""

UNEVEN = 1.5
"""How many times its share of the strings a combiner may have of the rates, unsaid (judgement)."""

WITHOUT_OUTLYING = "site, usual strings"
"""The kind of the group of all strings but those that stand out."""


@dataclass(frozen=True, eq=False)
class GroupRate:
    """The rate of a combiner, of a module type or of the site, from its sampled strings.

    population: how many strings the layout gives the group; between: standard deviation of the
    strings' true rates of power, %/year; median: of their rates of power, which a few faulty
    strings do not move.
    """

    kind: str
    name: str
    strings: int
    population: int
    span: float
    rates: dict[str, Rate]
    between: float
    median: Rate
    sentences: tuple[str, ...]


@dataclass(frozen=True, eq=False)
class Trend:
    """All rates of a site. Repaired strings are apart and in no group."""

    strings: tuple[StringRates, ...]
    repaired: tuple[StringRates, ...]
    repaired_without_rate: tuple[tuple[str, str], ...]
    groups: tuple[GroupRate, ...]
    outlying: frozenset[tuple[str, str]]
    soiling: tuple[SoilingLoss, ...]
    visits: tuple[str, ...]
    remarks: tuple[str, ...]

    @property
    def site(self) -> GroupRate | None:
        return next((group for group in self.groups if group.kind == "site"), None)

    @property
    def usual(self) -> GroupRate | None:
        """The site without the strings that stand out; the whole site when none does."""
        apart = (group for group in self.groups if group.kind == WITHOUT_OUTLYING)
        return next(apart, self.site)


def trend(
    observed: Observed,
    layout: SiteLayout,
    repairs: Mapping[tuple[str, str], Sequence[date]] | None = None,
) -> Trend:
    """Rates from observations; `repairs` gives the days on which a (combiner, string) was mended.

    A repaired string's rate uses only what was measured after its last repair.
    """
    repairs = repairs or {}
    losses = soiling_losses(observed.observations)
    clean = without_soiling(observed.observations, losses)
    mended = {one.place for one in clean if _repaired_within(one.place, clean, repairs)}
    untouched = [one for one in clean if one.place not in mended]
    after = [
        one
        for one in clean
        if one.place in mended and one.measured_at.date() > max(repairs[one.place])
    ]
    strings, repaired = string_rates(untouched), string_rates(after)
    outlying = _outlying(strings)
    groups = _groups(strings, layout)
    if outlying and groups:
        usual = [one for one in strings if one.place not in outlying]
        sizes = _sizes(layout)["site", layout.name] - Counter(box for box, _ in outlying)
        groups.insert(1, _group(WITHOUT_OUTLYING, layout.name, usual, sizes))
    return Trend(
        strings=tuple(strings),
        repaired=tuple(repaired),
        repaired_without_rate=tuple(sorted(mended - {one.place for one in repaired})),
        groups=tuple(groups),
        outlying=outlying,
        soiling=tuple(losses[visit] for visit in sorted(losses)),
        visits=tuple(visit.name for visit in observed.visits),
        remarks=(*_remarks(observed, losses, clean), *_uneven(strings, layout)),
    )


def _repaired_within(
    place: tuple[str, str],
    observations: Sequence[Observation],
    repairs: Mapping[tuple[str, str], Sequence[date]],
) -> bool:
    """Whether a repair lies between the string's first and last trace."""
    days = repairs.get(place)
    if not days:
        return False
    traced = [one.measured_at.date() for one in observations if one.place == place]
    return any(min(traced) <= day < max(traced) for day in days)


def _groups(strings: Sequence[StringRates], layout: SiteLayout) -> list[GroupRate]:
    """The site first, then module types and combiners that have at least two strings."""
    sizes = _sizes(layout)
    members: dict[tuple[str, str], list[StringRates]] = defaultdict(list)
    for rates in strings:
        for key in _keys(rates.place[0], rates.module_type, layout.name):
            members[key].append(rates)
    order = {"site": 0, "module type": 1, "combiner": 2}
    return [
        _group(kind, name, members[kind, name], sizes[kind, name])
        for kind, name in sorted(sizes, key=lambda key: order[key[0]])
        if len(members[kind, name]) > 1
    ]


def _sizes(layout: SiteLayout) -> dict[tuple[str, str], Counter[str]]:
    """How many strings each combiner has in the site, in each module type and in itself."""
    sizes: dict[tuple[str, str], Counter[str]] = defaultdict(Counter)
    for box in layout.combiners:
        for one in box.strings:
            for key in _keys(box.name, one.module, layout.name):
                sizes[key][box.name] += 1
    return sizes


def _keys(combiner: str, module: str, site: str) -> list[tuple[str, str]]:
    return [("site", site), ("module type", module), ("combiner", combiner)]


def _group(
    kind: str, name: str, strings: Sequence[StringRates], sizes: Mapping[str, int]
) -> GroupRate:
    """sizes: how many strings of the group each combiner has. A combiner weighs as it has strings,
    however many of them were traced: one traced whole for its faults would pull the mean to it."""
    population = sum(sizes.values())
    boxes = list(dict.fromkeys(one.place[0] for one in strings))
    stratum = [boxes.index(one.place[0]) for one in strings]
    traced = [sizes[box] for box in boxes]
    rates: dict[str, Rate] = {}
    between, median = 0.0, Rate(np.nan, np.nan, np.nan)
    for quantity_name in QUANTITIES:
        values = [one.rates[quantity_name].value for one in strings]
        own = [one.own[quantity_name] for one in strings]
        mean = stratified_mean(values, own, stratum, traced, population)
        shared = _shared(quantity_name, strings, mean.weights)
        half = hypot(mean.coverage * mean.uncertainty, COVERAGE_95 * shared)
        rates[quantity_name] = Rate(mean.mean, mean.mean - half, mean.mean + half)
        if quantity_name == "p_mp":
            between = mean.between
            median = _median(values, shared)
    span = float(np.median([one.span for one in strings]))
    sentences = [*verdict(rates["p_mp"], span), driver(rates, LABELS)]
    return GroupRate(
        kind=kind,
        name=name,
        strings=len(strings),
        population=population,
        span=span,
        rates=rates,
        between=between,
        median=median,
        sentences=tuple(sentences),
    )


def _median(values: Sequence[float], shared: float) -> Rate:
    """The median rate; its rank interval widened by what is common to each visit."""
    middle, low, high = median_interval(values)
    common = COVERAGE_95 * shared
    return Rate(middle, middle - hypot(middle - low, common), middle + hypot(high - middle, common))


def _shared(name: str, strings: Sequence[StringRates], weights: np.ndarray) -> float:
    """Standard uncertainty of the group's rate from errors common to each visit."""
    moved: dict[int, float] = defaultdict(float)
    for weight, one in zip(weights, strings, strict=True):
        for visit, effect in one.by_visit[name].items():
            moved[visit] += float(weight) * effect
    return hypot(*moved.values())


def _outlying(strings: Sequence[StringRates]) -> frozenset[tuple[str, str]]:
    """Strings whose rate of power stands out of all, beyond its own uncertainty."""
    if len(strings) < 5:
        return frozenset()
    values = np.array([one.rates["p_mp"].value for one in strings])
    middle = float(np.median(values))
    spread = 1.4826 * float(np.median(np.abs(values - middle)))
    return frozenset(
        one.place
        for one, value in zip(strings, values, strict=True)
        if abs(value - middle) > OUTLYING * max(spread, one.own["p_mp"])
    )


def _uneven(strings: Sequence[StringRates], layout: SiteLayout) -> list[str]:
    """Names the combiner of which far more was traced than of the others."""
    sizes = {box.name: len(box.strings) for box in layout.combiners}
    traced = Counter(one.place[0] for one in strings)
    if len(traced) < 2:
        return []
    box, count = traced.most_common(1)[0]
    of_strings = sizes[box] / sum(sizes.values())
    of_traced = count / len(strings)
    if of_traced < UNEVEN * of_strings:
        return []
    return [
        f"{box} has {100 * of_strings:.0f} % of the site's strings and {100 * of_traced:.0f} % of "
        "those with a rate: in the means each combiner weighs as it has strings; the median counts "
        "every string alike."
    ]


def _remarks(
    observed: Observed, losses: Mapping[int, SoilingLoss], clean: Sequence[Observation]
) -> list[str]:
    remarks = list(observed.notes)
    seen = sorted({one.visit for one in clean})
    without = [observed.visits[visit].name for visit in seen if visit not in losses]
    if without:
        remarks.append(
            "Soiling is not told apart on "
            + ", ".join(without)
            + ": trace some strings before and after cleaning and say so in the note "
            "(“before cleaning”, “after cleaning”)."
        )
    if len(seen) < 2:
        remarks.append("A rate needs at least two visits with usable traces.")
    return remarks

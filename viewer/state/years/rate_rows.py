"""The rows of the rates chart: groups first, then strings; and what may be said of one string."""

from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import date

from viewer.analysis.years.observation import DAYS_A_YEAR, Observation
from viewer.analysis.years.rate import Rate, driver, trade_context, verdict
from viewer.analysis.years.sample_plan import Place
from viewer.analysis.years.string_rates import StringRates
from viewer.analysis.years.trend import LABELS, GroupRate
from viewer.physics.nomenclature import counted, with_minus
from viewer.physics.uncertainty.uncertainty import COVERAGE
from viewer.reports.curve_figure import place_name
from viewer.reports.trend_table import soiling_line
from viewer.state.strings.string_rows import natural
from viewer.state.years.over_years import Years

STRINGS_SHOWN: dict[str, str] = {
    "combiner": "strings of the combiner",
    "outlying": "strings that stand out",
    "all": "all strings",
}
"""Which strings the chart lists below the groups."""


@dataclass(frozen=True)
class RateRow:
    """One line of the chart; `place` is None for a group."""

    kind: str
    name: str
    count: str
    span: float
    rate: Rate
    place: Place | None = None
    remark: str = ""

    @property
    def words(self) -> str:
        """The row in words, for tooltips and screen readers."""
        said = (
            f"{self.kind} {self.name}, {self.count} over {self.span:.1f} years: "
            f"{with_minus(self.rate.text())} (95 % interval)"
        )
        return f"{said}, {self.remark}" if self.remark else said


def rate_rows(years: Years, quantity: str, which: str, combiner: str | None) -> list[RateRow]:
    """Site, module types, combiners, then the strings asked for, the fastest loss first.

    quantity: one of observation.QUANTITIES; which: a key of STRINGS_SHOWN.
    """
    found = years.trend
    rows = [_group_row(group, quantity) for group in found.groups]
    strings = [
        (one, "stands out" if one.place in found.outlying else "") for one in found.strings
    ] + [(one, "since its repair") for one in found.repaired]
    if which == "combiner":
        strings = [pair for pair in strings if pair[0].place[0] == combiner]
    elif which == "outlying":
        strings = [pair for pair in strings if pair[1]]
    strings.sort(key=lambda pair: (pair[0].rates[quantity].value, natural(pair[0].place[1])))
    return rows + [_string_row(one, quantity, remark) for one, remark in strings]


def _group_row(group: GroupRate, quantity: str) -> RateRow:
    count = f"{group.strings} of {group.population}"
    return RateRow(group.kind, group.name, count, group.span, group.rates[quantity])


def _string_row(one: StringRates, quantity: str, remark: str) -> RateRow:
    count = counted(len(one.visits), "visit")
    name = place_name(one.place)
    return RateRow("string", name, count, one.span, one.rates[quantity], one.place, remark)


def axis_range(rows: Sequence[RateRow]) -> tuple[float, float]:
    """Ends of the rate axis, %/year: all values, their intervals within reason, and zero."""
    known = [row.rate for row in rows if row.rate.has_interval]
    if not known:
        return -2.0, 1.0
    values = [rate.value for rate in known]
    widths = sorted(rate.high - rate.low for rate in known)
    usual = widths[len(widths) // 2]
    low = min(*values, -1.0) - 0.6 * usual
    high = max(*values, 0.5) + 0.6 * usual
    return low, high


@dataclass(frozen=True)
class HistoryPoint:
    """One visit of a string: value at STC with its expanded uncertainty (k = 2)."""

    visit: str
    measured_on: date
    years: float
    value: float
    expanded: float
    source: str
    cleaned: bool | None = None


@dataclass(frozen=True)
class History:
    """A string's key point over the visits, and the days on which it was mended."""

    place: Place
    quantity: str
    points: tuple[HistoryPoint, ...]
    repairs: tuple[tuple[float, str], ...] = field(default=())
    """Years since the site's first trace, and what was done."""


def history(years: Years, place: Place, quantity: str) -> History:
    """The observations of one string in order of time."""
    mine = years.by_string.get(place, ())
    names = years.visit_names
    points = tuple(_point(one, quantity, names) for one in mine)
    return History(place, quantity, points, _repairs(years, place, mine))


def _point(one: Observation, quantity: str, names: Sequence[str]) -> HistoryPoint:
    value = one.values[quantity]
    return HistoryPoint(
        names[one.visit],
        one.measured_at.date(),
        one.years,
        value,
        COVERAGE * one.uncertainty[quantity].total * value,
        one.source,
        one.cleaned,
    )


def _repairs(
    years: Years, place: Place, mine: Sequence[Observation]
) -> tuple[tuple[float, str], ...]:
    if not mine:
        return ()
    first = mine[0]
    return tuple(
        (
            first.years + (one.repaired_on - first.measured_at.date()).days / DAYS_A_YEAR,
            f"{one.repaired_on.isoformat()}: {one.text}",
        )
        for one in years.repairs
        if (one.combiner, one.string) == place
    )


def string_sentences(years: Years, place: Place) -> list[str]:
    """What may be said of one string's rate; always with the interval."""
    found = years.trend
    one = years.rates.get(place)
    if one is None:
        if place in found.repaired_without_rate:
            return ["It was repaired and has been traced on fewer than two visits since."]
        return ["It has no rate: that needs usable traces on two visits."]
    said = [*verdict(one.rates["p_mp"], one.span), driver(one.rates, LABELS)]
    if one.theil_sen is not None:
        said.append(f"Theil-Sen, which single bad values do not move: {one.theil_sen.text()}.")
    if place in found.outlying:
        said.append("It stands out of the site's strings: look for a fault before calling it age.")
    if one in found.repaired:
        said.append("Only what was measured after its last repair is used.")
    return [with_minus(one) for one in said]


def site_sentences(years: Years) -> list[str]:
    """What may be said of the site, of its strings without those that stand out, and remarks."""
    found = years.trend
    said: list[str] = []
    if found.site is not None:
        said += [f"Site {found.site.name}: {found.site.sentences[0]}", *found.site.sentences[1:]]
    usual = found.usual
    if found.outlying and usual is not None:
        count = len(found.outlying)
        stand = counted(count, "string that stands out", "strings that stand out")
        said.append(f"Without {stand} (a fault is not ageing): {usual.sentences[0]}")
    said += [soiling_line(loss, found.visits) for loss in found.soiling]
    return [with_minus(one) for one in (*said, *found.remarks, *trade_context())]

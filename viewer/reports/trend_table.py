"""Rates over the years as tables of text lines and as plain data for JSON."""

from collections.abc import Sequence
from typing import Any

from viewer.analysis.years.baseline_change import StringChange
from viewer.analysis.years.observation import QUANTITIES
from viewer.analysis.years.rate import PUBLISHED_MEDIAN, Rate, trade_context
from viewer.analysis.years.soiling_pairs import SoilingLoss
from viewer.analysis.years.string_rates import StringRates
from viewer.analysis.years.trend import GroupRate, Trend
from viewer.physics.nomenclature import KEY_POINT_NAMES, counted, quantity
from viewer.reports.plain_table import aligned

_LABELS = [quantity(name).label for name in QUANTITIES]


def trend_lines(found: Trend, *, strings: bool = True) -> list[str]:
    """Everything for a terminal: remarks, groups with what may be said of them, strings."""
    lines = [f"Visits: {', '.join(found.visits)}. Rates in %/year with their 95 % intervals."]
    lines += [f"Note: {remark}" for remark in found.remarks]
    lines += [soiling_line(loss, found.visits) for loss in found.soiling]
    if found.groups:
        lines += ["", *_group_table(found.groups)]
    site = found.site
    if site is not None:
        lines += ["", f"Site {site.name}:", *(f"  {one}" for one in site.sentences)]
        lines += [f"  {one}" for one in trade_context()]
    if found.outlying and found.usual is not None:
        lines += _without_outlying(found.usual, len(found.outlying))
    if strings and found.strings:
        lines += ["", *_string_table(found.strings, found.outlying)]
    if found.repaired:
        lines += ["", "Repaired strings, since their last repair (in no group):"]
        lines += _string_table(found.repaired, frozenset())
    if found.repaired_without_rate:
        names = ", ".join("/".join(place) for place in found.repaired_without_rate)
        lines.append(f"Repaired, and traced on fewer than two visits since: {names}.")
    return lines


def _without_outlying(usual: GroupRate, count: int) -> list[str]:
    stand = counted(count, "string stands", "strings stand")
    return [
        f"Without what stands out ({stand} out, see below; a fault is not ageing):",
        *(f"  {one}" for one in usual.sentences),
    ]


def soiling_line(loss: SoilingLoss, visits: Sequence[str]) -> str:
    """What dirt cost on a visit, in a sentence."""
    pairs = counted(loss.pairs, "pair")
    return (
        f"Soiling on {visits[loss.visit]}: {100 * loss.power_lost:.1f} ± "
        f"{100 * loss.expanded:.1f} % of power (k = 2), from {pairs}; taken out of the rates."
    )


def _group_table(groups: Sequence[GroupRate]) -> list[str]:
    headings = ["Group", "Name", "Strings", "of", "Years", *_LABELS, "median Pmp"]
    rows = [
        [
            group.kind,
            group.name,
            str(group.strings),
            str(group.population),
            f"{group.span:.1f}",
            *(_short(group.rates[name]) for name in QUANTITIES),
            _short(group.median),
        ]
        for group in groups
    ]
    return aligned(headings, rows, {"Strings", "of", "Years"})


def _string_table(
    strings: Sequence[StringRates], outlying: frozenset[tuple[str, str]]
) -> list[str]:
    headings = ["Combiner", "String", "Visits", "Years", *_LABELS, "Theil-Sen Pmp", ""]
    rows = [
        [
            *one.place,
            str(len(one.visits)),
            f"{one.span:.1f}",
            *(_short(one.rates[name]) for name in QUANTITIES),
            _short(one.theil_sen) if one.theil_sen else "–",
            "stands out" if one.place in outlying else "",
        ]
        for one in strings
    ]
    return aligned(headings, rows, {"Visits", "Years"})


def _short(rate: Rate) -> str:
    return rate.text().removesuffix(" %/year")


def change_lines(changes: Sequence[StringChange], then: str, now: str) -> list[str]:
    """Each string's key points at STC on one visit against another."""
    labels = [quantity(name).label for name in KEY_POINT_NAMES]
    rows = [
        [
            *one.place,
            *(
                f"{c.percent:+.1f} ± {c.expanded:.1f}{'*' if c.is_beyond else ' '}"
                for c in one.changes
            ),
        ]
        for one in changes
    ]
    return [
        f"Change at STC from {then} to {now} in %, ± expanded uncertainty (k = 2); "
        "* beyond the uncertainty.",
        *aligned(["Combiner", "String", *labels], rows, set(labels)),
    ]


def change_data(changes: Sequence[StringChange], then: str, now: str) -> dict[str, Any]:
    """The same as plain data."""
    return {
        "from": then,
        "to": now,
        "strings": [
            {
                "combiner": one.place[0],
                "string": one.place[1],
                "from_trace": one.then,
                "to_trace": one.now,
                "key_points": {
                    c.name: {
                        "from": c.then,
                        "to": c.now,
                        "change": c.percent,
                        "expanded_uncertainty": c.expanded,
                        "beyond_uncertainty": c.is_beyond,
                    }
                    for c in one.changes
                },
            }
            for one in changes
        ],
    }


def trend_data(found: Trend) -> dict[str, Any]:
    """All of a trend as plain data; rates in %/year, negative for a loss."""
    return {
        "unit": "%/year of the value at the first visit; low and high bound the 95 % interval",
        "visits": list(found.visits),
        "remarks": list(found.remarks),
        "soiling": [
            {
                "visit": found.visits[loss.visit],
                "pairs": loss.pairs,
                "power_lost": loss.power_lost,
                "expanded_uncertainty": loss.expanded,
            }
            for loss in found.soiling
        ],
        "published_median": PUBLISHED_MEDIAN,
        "groups": [_group_data(group) for group in found.groups],
        "strings": [
            _string_data(one) | {"stands_out": one.place in found.outlying} for one in found.strings
        ],
        "repaired": [_string_data(one) for one in found.repaired],
        "repaired_without_rate": [list(place) for place in found.repaired_without_rate],
    }


def _group_data(group: GroupRate) -> dict[str, Any]:
    return {
        "kind": group.kind,
        "name": group.name,
        "strings": group.strings,
        "population": group.population,
        "span": group.span,
        "rates": {name: _rate_data(rate) for name, rate in group.rates.items()},
        "between_strings": group.between,
        "median": _rate_data(group.median),
        "sentences": list(group.sentences),
    }


def _string_data(one: StringRates) -> dict[str, Any]:
    return {
        "combiner": one.place[0],
        "string": one.place[1],
        "module": one.module_type,
        "visits": len(one.visits),
        "span": one.span,
        "rates": {name: _rate_data(rate) for name, rate in one.rates.items()},
        "theil_sen": _rate_data(one.theil_sen) if one.theil_sen else None,
        "excess_scatter": one.excess,
    }


def _rate_data(rate: Rate) -> dict[str, float]:
    return {"rate": rate.value, "low": rate.low, "high": rate.high}

"""Yearly condition: degradation against the last visit and the baseline, and what to do."""

from collections.abc import Mapping, Sequence
from datetime import date

import numpy as np

from viewer.analysis.results.trace_result import TraceResult
from viewer.analysis.years.baseline_change import StringChange, visit_changes
from viewer.analysis.years.observation import Observed
from viewer.analysis.years.rate import Rate, trade_context, verdict
from viewer.analysis.years.trend import GroupRate, Trend
from viewer.physics.nomenclature import quantity
from viewer.physics.uncertainty.uncertainty import InputUncertainties
from viewer.reports.curve_figure import place_name, trace_label
from viewer.reports.document.content import (
    Block,
    BulletList,
    Column,
    Document,
    Paragraph,
    ReportDetails,
    Section,
    TableBlock,
    Value,
)
from viewer.reports.document.statements import identity, method_section, remarks
from viewer.reports.document.trace_blocks import (
    all_key_points,
    in_full,
    is_finding,
    summary_table,
    trace_blocks,
    worst_first,
)
from viewer.site_data.site_layout import SiteLayout
from viewer.site_data.text_catalogue import texts

_RATE_NAMES = ("p_mp", "i_sc", "v_oc", "fill_factor")


def yearly_condition(
    layout: SiteLayout,
    results: Sequence[TraceResult],
    observed: Observed,
    baseline: int | None,
    trend: Trend,
    details: ReportDetails,
    printed_on: date,
    inputs: InputUncertainties,
) -> Document:
    """The document on the last of the observed visits.

    results: of that visit; observed and trend: of it and all before; baseline: place of the visit
    that it is compared with.
    """
    words = texts(details.language)
    said = words["yearly"]
    found = [r for r in worst_first(results) if is_finding(r)]
    summary: list[Block] = [identity(layout, results, details, printed_on)]
    site = trend.site
    if site is None:
        summary.append(Paragraph(said["no_rate"], strong=True))
    else:
        lines = [*verdict(site.rates["p_mp"], site.span), *trade_context()]
        summary.append(BulletList(tuple(lines)))
    summary += remarks(details)
    summary += [
        distribution_table(results, said, words["columns"]),
        summary_table(said["to_do"], found[:8], details),
    ]
    sections = [
        Section(words["report"]["summary"], tuple(summary)),
        Section(said["rates"], _rates(trend, said, words["columns"]), on_new_page=True),
        *_change_sections(observed, baseline, said, words["columns"]),
        Section(words["report"]["strings"], (summary_table(said["table"], results, details),)),
        *(
            Section(trace_label(r, with_time=True), trace_blocks(r, details), on_new_page=True)
            for r in in_full(results, details)
        ),
        method_section(layout, results, inputs, details),
    ]
    numbers = (all_key_points(results, details.language),)
    title = details.title or said["title"].format(site=layout.name)
    return Document(
        "yearly",
        title,
        details,
        tuple(sections),
        numbers,
    )


def distribution_table(
    results: Sequence[TraceResult], said: Mapping[str, str], heads: Mapping[str, str]
) -> TableBlock:
    """How many traces lie in each band of the power ratio."""
    ratios = np.array([r.power_ratio for r in results if r.power_ratio is not None])
    edges = np.array([0.0, 0.80, 0.90, 0.95, 0.97, 1.00, 1.03, np.inf])
    counts, _ = np.histogram(ratios, edges)
    rows = tuple(
        (_band(low, high, said), int(count), 100.0 * count / max(1, ratios.size))
        for low, high, count in zip(edges[:-1], edges[1:], counts, strict=True)
    )
    columns = (
        Column(heads["power_ratio"], share=2),
        Column(heads["traces"], "", 0),
        Column(heads["share"], "%", 1),
    )
    middle = float(np.median(ratios)) if ratios.size else float("nan")
    return TableBlock(said["distribution"], columns, rows, said["median"].format(median=middle))


def _band(low: float, high: float, said: Mapping[str, str]) -> str:
    key = "band_below" if low == 0.0 else "band_above" if np.isinf(high) else "band"
    return said[key].format(low=low, high=high)


def _rates(trend: Trend, said: Mapping[str, str], heads: Mapping[str, str]) -> tuple[Block, ...]:
    a_year = heads["percent_a_year"]
    columns = (
        Column(heads["group"], share=1.8, as_entered=True),
        Column(heads["strings"], "", 0, 0.8),
        Column(heads["out_of"], "", 0, 0.5),
        *(Column(quantity(name).label, a_year, share=1.7) for name in _RATE_NAMES),
    )
    groups = TableBlock(said["groups"], columns, tuple(_group_row(one) for one in trend.groups))
    strings = TableBlock(
        said["string_rates"],
        (
            Column(heads["string"], share=1.4, as_entered=True),
            *columns[3:],
            Column(heads["theil_sen"], a_year, share=1.7),
        ),
        tuple(
            (
                place_name(one.place),
                *(_rate_text(one.rates[name]) for name in _RATE_NAMES),
                _rate_text(one.theil_sen) if one.theil_sen else "–",
            )
            for one in trend.strings
        ),
        said["repaired_apart"].format(count=len(trend.repaired)),
    )
    remarks = (BulletList(trend.remarks),) if trend.remarks else ()
    return (groups, strings, *remarks)


def _group_row(one: GroupRate) -> tuple[Value, ...]:
    rates = tuple(_rate_text(one.rates[name]) for name in _RATE_NAMES)
    return (f"{one.kind} {one.name}", one.strings, one.population, *rates)


def _rate_text(rate: Rate) -> str:
    return rate.text().removesuffix("%/year").rstrip()


def _change_sections(
    observed: Observed, baseline: int | None, said: Mapping[str, str], heads: Mapping[str, str]
) -> list[Section]:
    """Changes since the baseline and since the visit before; one section where both are one."""
    last = len(observed.visits) - 1
    if last < 1:
        return []
    pairs = {baseline: said["since_baseline"]} if baseline is not None and baseline < last else {}
    pairs.setdefault(last - 1, said["since_last"])
    return [
        Section(heading, (_changes(heading, visit_changes(observed, then, last), said, heads),))
        for then, heading in (
            (place, text.format(visit=observed.visits[place].name)) for place, text in pairs.items()
        )
    ]


def _changes(
    name: str,
    changes: Sequence[StringChange],
    said: Mapping[str, str],
    heads: Mapping[str, str],
) -> TableBlock:
    columns = (
        Column(heads["string"], share=1.4, as_entered=True),
        *(Column(quantity(key).label, "%", 1, 0.7) for key in _RATE_NAMES),
        Column(f"{quantity('p_mp').label} {heads['expanded']}", "%", 1, 0.8),
        Column(heads["beyond"], share=2.2),
    )
    rows: tuple[tuple[Value, ...], ...] = tuple(
        (
            place_name(one.place),
            *(one.change(key).percent for key in _RATE_NAMES),
            one.change("p_mp").expanded,
            ", ".join(quantity(name).label for name in one.beyond) or said["nothing"],
        )
        for one in changes
    )
    return TableBlock(name, columns, rows, headed=False)

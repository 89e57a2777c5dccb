"""Troubleshooting: what failed, what was done about it, and how the string does since."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from viewer.analysis.results.trace_result import TraceResult
from viewer.physics.uncertainty.uncertainty import InputUncertainties
from viewer.reports.curve_figure import trace_label
from viewer.reports.document.content import (
    Block,
    Column,
    Document,
    Paragraph,
    ReportDetails,
    Section,
    TableBlock,
)
from viewer.reports.document.statements import identity, method_section, remarks
from viewer.reports.document.trace_blocks import (
    all_key_points,
    caption,
    figure_blocks,
    in_full,
    is_finding,
    missing_in,
    summary_table,
    trace_blocks,
    worst_first,
)
from viewer.site_data.site_layout import SiteLayout
from viewer.site_data.text_catalogue import texts


@dataclass(frozen=True)
class WorkDone:
    """What was done to one string: action, part and serial numbers, and by whom."""

    done_on: str
    action: str
    parts: str = ""
    by: str = ""


@dataclass(frozen=True, eq=False)
class RepairedString:
    """A string before and after; `after` is the retest, None while it is due."""

    before: TraceResult
    after: TraceResult | None
    work: WorkDone


def troubleshooting(
    layout: SiteLayout,
    results: Sequence[TraceResult],
    repairs: Sequence[RepairedString],
    details: ReportDetails,
    printed_on: date,
    inputs: InputUncertainties,
) -> Document:
    """The document; strings with findings in full, the worst first."""
    words = texts(details.language)
    said = words["troubleshooting"]
    found = [r for r in worst_first(results) if is_finding(r)]
    title = details.title or said["title"].format(site=layout.name)
    missing = missing_in(found, details.settled)
    summary: list[Block] = [
        identity(layout, results, details, printed_on),
        Paragraph(
            said["in_short"].format(
                found=len(found),
                traces=len(results),
                strings=missing.strings,
                lost=missing.lost,
                expanded=missing.expanded,
            ),
            strong=True,
        ),
    ]
    summary += remarks(details)
    summary.append(summary_table(said["found"], found[:12], details))
    sections = [Section(words["report"]["summary"], tuple(summary))]
    if repairs:
        sections.append(_repairs(repairs, said, details))
    before = _earlier(repairs)
    sections += [
        Section(
            trace_label(r, with_time=True),
            trace_blocks(r, details, before.get(r.trace.source)),
            on_new_page=True,
        )
        for r in in_full(results, details)
    ]
    sections.append(method_section(layout, results, inputs, details))
    return Document(
        "troubleshooting",
        title,
        details,
        tuple(sections),
        (all_key_points(results, details.language),),
    )


def _earlier(repairs: Sequence[RepairedString]) -> Mapping[str, TraceResult]:
    return {one.after.trace.source: one.before for one in repairs if one.after is not None}


def _repairs(
    repairs: Sequence[RepairedString], said: Mapping[str, str], details: ReportDetails
) -> Section:
    heads = texts(details.language)["columns"]
    columns = (
        Column(heads["string"], share=1.3, as_entered=True),
        Column(heads["day"], share=0.9, as_entered=True),
        Column(heads["done"], share=2.0, as_entered=True),
        Column(heads["parts"], share=1.4, as_entered=True),
        Column(heads["by"], share=0.8, as_entered=True),
        Column(heads["before"], "W", 0, 0.7),
        Column(heads["after"], "W", 0, 0.7),
        Column(heads["gain"], "%", 1, 0.8),
        Column(heads["expanded"], "%", 1, 0.65),
    )
    rows = tuple(_repair_row(one) for one in repairs)
    blocks: list[Block] = [TableBlock(said["repairs"], columns, rows, headed=False)]
    for one in repairs:
        blocks.append(Paragraph(_told(one, said, details)))
        if one.after is not None and details.plots:
            blocks += figure_blocks(one.after, one.before, details)
    return Section(said["repairs"], tuple(blocks))


def _told(one: RepairedString, said: Mapping[str, str], details: ReportDetails) -> str:
    """Which traces a repair is judged by, and whether its gain is more than its uncertainty."""
    before = caption(one.before, decimal_comma=details.decimal_comma)
    if one.after is None:
        return str(said["no_retest"].format(before=before))
    after = caption(one.after, decimal_comma=details.decimal_comma)
    gain, within = _gain(one), _gain_within(one)
    words = "gain_unknown"
    if gain is not None and within is not None:
        words = "gain_shown" if gain > within else "loss_shown" if gain < -within else "no_gain"
    return f"{said['retested'].format(before=before, after=after)} {said[words]}"


def _repair_row(one: RepairedString) -> tuple[str | float | None, ...]:
    before = one.before.translated.p_mp if one.before.translated else None
    after = one.after.translated.p_mp if one.after and one.after.translated else None
    gain, within = _gain(one), _gain_within(one)
    work = one.work
    label = trace_label(one.before)
    return (label, work.done_on, work.action, work.parts, work.by, before, after, gain, within)


def _gain(one: RepairedString) -> float | None:
    """Power at STC after the repair over that before, less one [%]."""
    if one.before.translated is None or one.after is None or one.after.translated is None:
        return None
    return 100 * (one.after.translated.p_mp / one.before.translated.p_mp - 1)


def _gain_within(one: RepairedString) -> float | None:
    """Expanded uncertainty (k = 2) of the gain [%], both traces being independent."""
    powers, relative = [], []
    for result in (one.before, one.after):
        spread = result.uncertainty.translated if result and result.uncertainty else None
        if result is None or result.translated is None or spread is None:
            return None
        powers.append(result.translated.p_mp)
        relative.append(spread.p_mp / result.translated.p_mp)
    return 100 * powers[1] / powers[0] * math.hypot(*relative)

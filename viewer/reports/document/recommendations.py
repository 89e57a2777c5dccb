"""The test provider's findings and recommendations to the owner, ranked by lost power."""

from collections.abc import Sequence
from dataclasses import replace
from datetime import date

from viewer.analysis.losses.lost_power import lost_at_standard, lost_at_standard_uncertainty
from viewer.analysis.results.counting_trace import counting_traces
from viewer.analysis.results.trace_result import TraceResult
from viewer.physics.uncertainty.uncertainty import InputUncertainties
from viewer.reports.curve_figure import trace_label
from viewer.reports.document.content import (
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
    cause_words,
    in_full,
    is_finding,
    missing_in,
    next_words,
    one_a_string,
    summary_table,
    trace_blocks,
    worst_first,
)
from viewer.site_data.site_layout import SiteLayout
from viewer.site_data.text_catalogue import texts


def recommendations(
    layout: SiteLayout,
    results: Sequence[TraceResult],
    details: ReportDetails,
    printed_on: date,
    inputs: InputUncertainties,
) -> Document:
    """The document: what to do first, then every string, then the findings in full."""
    words = texts(details.language)
    said = words["recommendations"]
    ranked = [r for r in worst_first(results) if is_finding(r)]
    rated = sum(
        r.translated.p_mp / r.power_ratio
        for r in counting_traces(results).values()
        if r.translated and r.power_ratio
    )
    missing = missing_in(ranked, details.settled)
    in_short = said["in_short"].format(
        found=len(ranked),
        traces=len(results),
        strings=missing.strings,
        lost=missing.lost / 1000,
        expanded=missing.expanded / 1000,
        share=100 * missing.lost / rated if rated else 0.0,
    )
    summary = Section(
        words["report"]["summary"],
        (
            identity(layout, results, details, printed_on),
            Paragraph(in_short, strong=True),
            *remarks(details),
            _actions(one_a_string(ranked, details.settled)[:10], said["first"], details),
        ),
    )
    sections = [
        summary,
        Section(
            said["all"],
            (
                replace(_actions(ranked, said["all"], details), headed=False),
                Paragraph(said["ranked_by"]),
            ),
            on_new_page=True,
        ),
        Section(words["report"]["strings"], (summary_table(said["table"], results, details),)),
    ]
    sections += [
        Section(trace_label(r, with_time=True), trace_blocks(r, details), on_new_page=True)
        for r in in_full(results, details)
    ]
    sections.append(method_section(layout, results, inputs, details))
    numbers = (all_key_points(results, details.language),)
    title = details.title or said["title"].format(site=layout.name)
    return Document(
        "recommendations",
        title,
        details,
        tuple(sections),
        numbers,
    )


def _actions(ranked: Sequence[TraceResult], name: str, details: ReportDetails) -> TableBlock:
    heads = texts(details.language)["columns"]
    columns = (
        Column(heads["rank"], "", 0, 0.4),
        Column(heads["string"], share=1.75, as_entered=True),
        Column(heads["lost"], "W", 0, 0.8),
        Column(heads["expanded"], "W", 0, 0.6),
        Column(heads["power_ratio"], "", 3, 0.7),
        Column(heads["shows"], share=1.8),
        Column(heads["next"], share=2.6),
    )
    rows = tuple(
        (
            place,
            trace_label(r, with_time=True),
            lost_at_standard(r),
            lost_at_standard_uncertainty(r),
            r.power_ratio,
            cause_words(r, details),
            next_words(r, details),
        )
        for place, r in enumerate(ranked, start=1)
    )
    return TableBlock(name, columns, rows, texts(details.language)["report"]["before_touching"])

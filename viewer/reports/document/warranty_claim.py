"""Warranty evidence: each string or module against what its maker warrants at that age."""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import date
from statistics import median

from viewer.analysis.results.trace_result import WRONG_READINGS, TraceResult
from viewer.analysis.years.baseline_change import SinceBaseline
from viewer.analysis.years.warranty import (
    ABOVE,
    BELOW,
    INCONCLUSIVE,
    LIMIT_OF_STRINGS,
    RULE,
    WarrantyCheck,
    WarrantyFindings,
)
from viewer.physics.uncertainty.uncertainty import InputUncertainties
from viewer.reports.curve_figure import place_name, trace_label
from viewer.reports.document.content import (
    Block,
    BulletList,
    Column,
    Document,
    FigureBlock,
    Paragraph,
    ReportDetails,
    Section,
    TableBlock,
)
from viewer.reports.document.statements import identity, method_section, remarks
from viewer.reports.document.trace_blocks import all_key_points, trace_blocks
from viewer.reports.warranty_table import wrong_on_average
from viewer.site_data.site_layout import SiteLayout
from viewer.site_data.text_catalogue import texts

EVIDENCE_HEIGHT = 0.28
"""Part of the page's height of a string's plot."""


def warranty_claim(
    layout: SiteLayout,
    results: Sequence[TraceResult],
    findings: WarrantyFindings,
    left_out: Sequence[str],
    details: ReportDetails,
    printed_on: date,
    inputs: InputUncertainties,
    since: SinceBaseline | None = None,
) -> Document:
    """The document; what is below the warranted power in full, with the file's checksum.

    results: of the visit, and every other that a check rests upon; left_out: which traces were
    not judged at all, in sentences; since: what has changed since the baseline, where there is one.
    """
    words = texts(details.language)
    said = words["warranty"]
    short = sorted(
        (one for one in findings.checks if one.decision == BELOW), key=lambda one: -one.shortfall
    )
    counts = {name: findings.count(name) for name in (BELOW, INCONCLUSIVE, ABOVE)}
    summary: tuple[Block, ...] = (
        identity(layout, results, details, printed_on),
        Paragraph(
            " ".join(
                said[key].format(
                    checked=len(findings.checks),
                    modules=findings.modules_concerned,
                    shortfall=findings.shortfall,
                    expanded=findings.shortfall_expanded,
                    **counts,
                )
                for key in ("in_short", *(["those_below"] if short else []))
            ),
            strong=True,
        ),
        Paragraph(RULE),
        Paragraph(LIMIT_OF_STRINGS),
        *(
            [Paragraph(said["expected_false"].format(number=wrong_on_average(findings)))]
            if short
            else []
        ),
        *_doubted(short, {r.trace.source: r for r in results}, said),
        *remarks(details),
        _claims(said["below"], short[:10], words["columns"]),
    )
    by_source = {r.trace.source: r for r in results}
    evidence = _evidence(short, by_source, details, said)
    sections = (
        Section(words["report"]["summary"], summary),
        Section(
            said["all"],
            (
                _claims(said["all"], findings.checks, words["columns"], headed=False),
                BulletList((*findings.unchecked, *left_out)),
            ),
            on_new_page=True,
        ),
        *(_since_baseline(since, findings, words) if since else ()),
        Section(said["terms"], (_terms(layout, said, words["columns"]),)),
        *evidence,
        Section(said["files"], (checksum_table(said["files"], results, words["columns"]),)),
        method_section(layout, results, inputs, details),
    )
    numbers = (all_key_points(results, details.language),)
    title = details.title or said["title"].format(site=layout.name)
    return Document(
        "warranty",
        title,
        details,
        sections,
        numbers,
    )


def _doubted(
    short: Sequence[WarrantyCheck], by_source: Mapping[str, TraceResult], said: Mapping[str, str]
) -> list[Paragraph]:
    """What speaks for and against a wrong reading behind what lies below; nothing where no curve
    points to one. A reader who wants to refuse the claim finds it on the string's page anyway."""
    below = [by_source[one.source] for one in short if one.source in by_source]
    doubted = [
        r for r in below if r.candidate_causes and r.candidate_causes[0].cause in WRONG_READINGS
    ]
    if not doubted:
        return []
    days = {r.trace.measured_at.date() for r in below if r.trace.measured_at}
    sources = {r.trace.source for r in below}
    others = [
        r.power_ratio
        for r in by_source.values()
        if r.trace.source not in sources and r.trace.measured_at and r.power_ratio
        if r.trace.measured_at.date() in days
    ]
    ratios = [r.power_ratio for r in below if r.power_ratio]
    words = said["doubted"].format(count=len(doubted), short=len(short))
    if not others or not ratios:
        return [Paragraph(f"{words} {said['nothing_beside']}")]
    beside = said["compared"].format(
        low=min(ratios),
        high=max(ratios),
        middle=median(ratios),
        other_low=min(others),
        other_high=max(others),
        other_middle=median(others),
    )
    return [Paragraph(f"{words} {beside}")]


def _since_baseline(
    since: SinceBaseline, findings: WarrantyFindings, words: Mapping[str, Mapping[str, str]]
) -> tuple[Section, ...]:
    """Power of each judged trace beside that of its string on the baseline visit, and its rate."""
    said, heads = words["warranty"], words["columns"]
    changes = since.of_traces([one.source for one in findings.checks])
    if not changes:
        return ()
    rates = {one.place: one.rates["p_mp"].text() for one in since.trend.strings}
    name = said["since_baseline"].format(visit=since.visit)
    columns = (
        Column(heads["string"], share=2.0, as_entered=True),
        Column(heads["then"], "W", 0),
        Column(heads["now"], "W", 0),
        Column(heads["change"], "%", 1),
        Column(heads["expanded"], "%", 1),
        Column(heads["rate"], share=2.2),
    )
    rows = []
    for one in changes:
        power = one.change("p_mp")
        rate = rates.get(one.place, "–")
        place = place_name(one.place)
        rows.append((place, power.then, power.now, power.percent, power.expanded, rate))
    note = said["since_note"]
    return (Section(name, (TableBlock(name, columns, tuple(rows), note, headed=False),)),)


def _claims(
    name: str,
    checks: Sequence[WarrantyCheck],
    heads: Mapping[str, str],
    headed: bool = True,
) -> TableBlock:
    columns = (
        Column(heads["string"], share=1.45, as_entered=True),
        Column(heads["serial"], share=1.0, as_entered=True),
        Column(heads["modules"], "", 0, 1.0),
        Column(heads["measured_on"], share=1.35, as_entered=True),
        Column(heads["age"], "a", 2, 0.7),
        Column(heads["at_stc"], "W", 0, 0.8),
        Column(heads["expanded"], "W", 0, 0.85),
        Column(heads["warranted"], "W", 0, 1.2),
        Column(heads["shortfall"], "W", 0, 1.15),
        Column(heads["below_probability"], "", 3, 0.9, probability=True),
        Column(heads["decision"], share=1.5),
    )
    rows = tuple(
        (
            place_name(one.place),
            one.serial or "–",
            one.modules,
            one.measured_on.isoformat(),
            one.age,
            one.measured,
            one.expanded,
            one.warranted,
            one.shortfall,
            one.below_probability,
            one.decision,
        )
        for one in checks
    )
    return TableBlock(name, columns, rows, headed=headed)


def _terms(layout: SiteLayout, said: Mapping[str, str], heads: Mapping[str, str]) -> TableBlock:
    columns = (
        Column(heads["module"], share=2, as_entered=True),
        Column(heads["rated"], "W", 1),
        Column(heads["first_year"], heads["share_lost"], 2),
        Column(heads["annual"], heads["points"], 2),
        Column(heads["years"], "", 0),
        Column(heads["steps"], share=2),
        Column(heads["since"], share=1.2, as_entered=True),
    )
    rows = tuple(
        (
            key,
            sheet.warranty.rated_power or sheet.p_mp,
            None if sheet.warranty.steps else sheet.warranty.first_year,
            None if sheet.warranty.steps else sheet.warranty.annual,
            sheet.warranty.end,
            "; ".join(
                said["step"].format(share=share, age=age) for age, share in sheet.warranty.steps
            ),
            sheet.warranty.start.isoformat() if sheet.warranty.start else "–",
        )
        for key, sheet in layout.modules.items()
        if sheet.warranty is not None
    )
    return TableBlock(said["terms"], columns, rows, headed=False)


def _evidence(
    short: Sequence[WarrantyCheck],
    by_source: Mapping[str, TraceResult],
    details: ReportDetails,
    said: Mapping[str, str],
) -> list[Section]:
    sections: list[Section] = []
    for one in short:
        result = by_source.get(one.source)
        if result is None or (details.strings and result.trace.source not in details.strings):
            continue
        line = said["decision"].format(
            measured=one.measured,
            expanded=one.expanded,
            warranted=one.warranted,
            age=one.age,
            decision=one.decision,
        )
        blocks = (
            Paragraph(line, strong=True),
            *_lower(trace_blocks(result, details)),
            Paragraph(f"{said['correction']}: {result.translation}."),
            Paragraph(
                f"{said['file']}: {result.trace.source}, SHA-256 {result.trace.sha256 or '–'}.",
                as_entered=True,
            ),
        )
        label = trace_label(result, with_time=True)
        sections.append(Section(label, blocks, on_new_page=True))
    return sections


def _lower(blocks: Sequence[Block]) -> list[Block]:
    """With plots low enough that a string's evidence keeps to a page where its words allow it."""
    return [
        replace(one, height=EVIDENCE_HEIGHT) if isinstance(one, FigureBlock) else one
        for one in blocks
    ]


def checksum_table(
    name: str, results: Sequence[TraceResult], heads: Mapping[str, str]
) -> TableBlock:
    """Every trace file with the SHA-256 of its bytes as imported."""
    columns = (
        Column(heads["file"], share=2, as_entered=True),
        Column(heads["sha256"], share=3.6, as_entered=True),
    )
    rows = tuple((r.trace.source, r.trace.sha256 or "–") for r in results)
    return TableBlock(name, columns, rows, headed=False)

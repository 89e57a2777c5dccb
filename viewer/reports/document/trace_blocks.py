"""Blocks about single traces that several documents print."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from viewer.analysis.causes.cause_words import cause_name
from viewer.analysis.causes.confirmation import Confirmation
from viewer.analysis.losses.lost_power import lost_at_standard, lost_at_standard_uncertainty
from viewer.analysis.results.counting_trace import counting_traces
from viewer.analysis.results.trace_result import WRONG_READINGS, TraceResult
from viewer.physics.nomenclature import KEY_POINTS, quantity
from viewer.reports.annotation import shown_on
from viewer.reports.curve_figure import CurveFigure, curve_figure, trace_label
from viewer.reports.document.content import (
    Block,
    BulletList,
    Column,
    FigureBlock,
    Paragraph,
    PictureBlock,
    ReportDetails,
    TableBlock,
)
from viewer.reports.document.number_words import localised
from viewer.site_data.text_catalogue import texts

MARKED_HEIGHT = 0.3
"""Part of the page's height of a marked curve under the curves before and after a repair."""


def is_finding(result: TraceResult) -> bool:
    """Whether anything but `none` is a candidate cause."""
    return any(one.cause != "none" for one in result.candidate_causes)


def has_rear_light(result: TraceResult) -> bool:
    """Whether what the model is given holds light from behind beside that in front."""
    used = result.conditions
    return used.effective_irradiance is not None and used.effective_irradiance != used.poa_global


@dataclass(frozen=True)
class Missing:
    """Power missing at standard conditions in strings whose first cause is a fault of theirs.

    `lost` and its expanded uncertainty (k = 2) in W; errors of irradiance and of the datasheet move
    all strings alike, so that uncertainties are added up, which is never too little.
    """

    strings: int
    lost: float
    expanded: float


def missing_in(
    results: Sequence[TraceResult], settled: Mapping[str, Confirmation] | None = None
) -> Missing:
    """Of the findings among the results; what points to a wrong reading costs nothing.

    A string that was traced more than once is counted once; what was settled in the field goes
    before the first cause.
    """
    known = settled or {}

    def cause(result: TraceResult) -> str:
        one = known.get(result.trace.source)
        return one.confirmed if one else result.candidate_causes[0].cause

    found = [
        (r, loss)
        for r in one_a_string(results, known)
        if is_finding(r) and cause(r) not in (*WRONG_READINGS, "none")
        if (loss := lost_at_standard(r)) is not None and loss > 0
    ]
    return Missing(
        len(found),
        sum(loss for _, loss in found),
        sum(lost_at_standard_uncertainty(r) or 0.0 for r, _ in found),
    )


def one_a_string(
    results: Sequence[TraceResult], settled: Mapping[str, Confirmation]
) -> list[TraceResult]:
    """In their order, each string's trace that was settled in the field, else that which counts."""
    chosen = counting_traces(results)
    of_field = counting_traces(r for r in results if r.trace.source in settled)
    kept = {id(one) for one in (chosen | of_field).values()}
    return [r for r in results if id(r) in kept]


def worst_first(results: Sequence[TraceResult]) -> list[TraceResult]:
    """Traces with a prediction, the greatest loss at standard conditions first."""
    known = [(lost_at_standard(r), r) for r in results]
    return [r for loss, r in sorted(known, key=lambda pair: -(pair[0] or 0.0)) if loss is not None]


def in_full(results: Sequence[TraceResult], details: ReportDetails) -> list[TraceResult]:
    """The traces to report in full, the worst first: the chosen ones, else those with findings."""
    ranked = worst_first(results)
    if not details.strings:
        return [r for r in ranked if is_finding(r)]
    wanted = set(details.strings)
    unknown = [r for r in results if lost_at_standard(r) is None]
    return [r for r in (*ranked, *unknown) if r.trace.source in wanted]


def cause_words(result: TraceResult, details: ReportDetails) -> str:
    """The user's own words for a trace where given, else what was settled, else the first cause."""
    own = details.texts.get(result.trace.source)
    if own:
        return own
    words = texts(details.language)["trace"]
    settled = details.settled.get(result.trace.source)
    if settled:
        key = "confirmed" if settled.agreed else "corrected"
        return str(words[key].format(cause=cause_name(settled.confirmed)))
    if not result.candidate_causes:
        return str(result.missing[0] if result.missing else words["no_prediction"])
    best = result.candidate_causes[0]
    if best.cause == "none":
        return str(words["as_expected"])
    return f"{cause_name(best.cause)} ({best.likelihood:.0%})"


def summary_columns(heads: Mapping[str, str]) -> tuple[Column, ...]:
    """`heads`: the catalogue's words for columns."""
    return (
        Column(heads["combiner"], share=1.0, as_entered=True),
        Column(heads["string"], share=1.2, as_entered=True),
        Column(heads["sun"], "W/m²", 0, 0.9),
        Column(heads["cell"], "°C", 1, 0.6),
        Column(quantity("p_mp").label, "W", 0, 0.7),
        Column(heads["predicted_beside"], "W", 0, 1.0),
        Column(heads["ratio"], "", 3, 0.6),
        Column(heads["expanded"], "", 3, 0.6),
        Column(heads["lost"], "W", 0, 0.8),
        Column(heads["shows"], share=2.6),
    )


def summary_table(name: str, results: Sequence[TraceResult], details: ReportDetails) -> TableBlock:
    """One line a trace."""
    rows = tuple(
        (
            r.trace.combiner or "–",
            r.trace.string or r.trace.source,
            r.conditions.poa_global,
            r.conditions.temperature_cell,
            r.measured.p_mp,
            r.predicted.p_mp if r.predicted else None,
            r.power_ratio,
            r.power_ratio_uncertainty,
            lost_at_standard(r),
            cause_words(r, details),
        )
        for r in results
    )
    return TableBlock(name, summary_columns(texts(details.language)["columns"]), rows)


def key_point_table(name: str, result: TraceResult, heads: Mapping[str, str]) -> TableBlock:
    """Measured, predicted, difference and translated for the six key points, with uncertainties."""
    columns = (
        Column(heads["quantity"], share=1.0),
        *(
            Column(heads[key], "", 3, share, by_row=True)
            for key, share in (
                ("measured", 1.1),
                ("expanded", 0.9),
                ("predicted", 1.1),
                ("expanded", 0.9),
            )
        ),
        Column(heads["difference"], "%", 1, 1.2),
        Column(heads["at_stc"], "", 3, 1.1, by_row=True),
        Column(heads["expanded"], "", 3, 0.9, by_row=True),
    )
    rows = []
    for one in KEY_POINTS:
        measured = getattr(result.measured, one.name)
        predicted = getattr(result.predicted, one.name) if result.predicted else None
        standard = getattr(result.translated, one.name) if result.translated else None
        rows.append(
            (
                one.heading,
                measured,
                _expanded(result, "measured", one.name),
                predicted,
                _expanded(result, "predicted", one.name),
                100 * (measured / predicted - 1) if predicted else None,
                standard,
                _expanded(result, "translated", one.name),
            )
        )
    return TableBlock(
        name,
        columns,
        tuple(rows),
        row_decimals=tuple(one.decimals for one in KEY_POINTS),
        only_printed=True,
    )


def _expanded(result: TraceResult, kind: str, name: str) -> float | None:
    """Expanded uncertainty (k = 2) of a key point; `kind`: measured, predicted or translated."""
    spread = getattr(result.uncertainty, kind) if result.uncertainty else None
    return getattr(spread, name) if spread else None


def all_key_points(results: Sequence[TraceResult], language: str) -> TableBlock:
    """Key points of every trace with their uncertainties, for the workbook."""
    words, heads = texts(language)["report"], texts(language)["columns"]
    kinds = ("measured", "predicted", "translated")
    columns = (
        Column(heads["trace"], as_entered=True),
        Column(heads["combiner"], as_entered=True),
        Column(heads["string"], as_entered=True),
        Column(heads["measured_at"], as_entered=True),
        *(
            column
            for kind in kinds
            for one in KEY_POINTS
            for name in [heads[f"point_{kind}"].format(point=one.label)]
            for column in (
                Column(name, one.unit, one.decimals),
                Column(f"{name} {heads['expanded']}", one.unit, one.decimals),
            )
        ),
    )
    rows = tuple(
        (
            r.trace.source,
            r.trace.combiner,
            r.trace.string,
            r.trace.measured_at.isoformat() if r.trace.measured_at else None,
            *(
                value
                for kind in kinds
                for one in KEY_POINTS
                for value in (
                    getattr(getattr(r, kind), one.name) if getattr(r, kind) else None,
                    _expanded(r, kind, one.name),
                )
            ),
        )
        for r in results
    )
    return TableBlock(words["key_points"], columns, rows)


def trace_blocks(
    result: TraceResult, details: ReportDetails, before: TraceResult | None = None
) -> tuple[Block, ...]:
    """Everything on one trace: figure, numbers, signatures, causes, conditions, file."""
    label = trace_label(result, with_time=True)
    blocks: list[Block] = []
    if details.plots:
        blocks += figure_blocks(result, before, details)
    words = texts(details.language)
    said = words["trace"]
    name = f"{words['report']['key_points']} {label}"
    blocks.append(key_point_table(name, result, words["columns"]))
    used = result.conditions
    if used.irradiance_from and used.temperature_from:
        blocks.append(
            Paragraph(
                said["conditions_from"].format(
                    irradiance=used.irradiance_from, temperature=used.temperature_from
                )
            )
        )
    own = details.texts.get(result.trace.source)
    if own:
        blocks.append(Paragraph(own, as_entered=True))
    blocks += _settled_blocks(result, details)
    shows = tuple(s.text for s in result.signatures)
    if shows:
        blocks.append(BulletList(shows))
    for cause in result.candidate_causes:
        if cause.cause == "none":
            continue
        name = f"{cause_name(cause.cause).capitalize()} ({cause.likelihood:.0%})"
        evidence = (
            said["as_listed"] if shows and cause.evidence == " ".join(shows) else cause.evidence
        )
        parts = [f"{name}: {evidence}"]
        if cause.against:
            parts.append(said["against"].format(words=cause.against))
        parts.append(said["next_check"].format(words=cause.next_check))
        blocks.append(Paragraph(" ".join(parts)))
    if is_finding(result):
        blocks.append(Paragraph(words["report"]["before_touching"]))
    shown = [one for one in (before, result) if one is not None]
    pictures = [p for one in shown for p in details.pictures.get(one.trace.source, ())]
    if pictures:
        blocks.append(PictureBlock(tuple(pictures)))
    failed = [c for c in result.conditions.checks if not c.passed]
    blocks += [
        Paragraph(said["check_failed"].format(check=c.check, detail=c.detail)) for c in failed
    ]
    blocks += [Paragraph(sentence) for sentence in result.missing]
    if result.trace.note:
        note = said["note"].format(words=result.trace.note)
        blocks.append(Paragraph(note, as_entered=True))
    return tuple(blocks)


def next_words(result: TraceResult, details: ReportDetails) -> str:
    """What to do next: the first cause's check, or what was done once a finding is settled."""
    settled = details.settled.get(result.trace.source)
    if settled is None:
        return result.candidate_causes[0].next_check
    words = texts(details.language)["trace"]
    if not settled.action:
        return str(words["nothing_done"])
    done = words["done"].format(words=settled.action.rstrip("."))
    return str(done if settled.retest else f"{done} {words['retest_due']}")


def _settled_blocks(result: TraceResult, details: ReportDetails) -> list[Block]:
    """What was found to be true, by whom and when, and what was done: as people entered it."""
    settled = details.settled.get(result.trace.source)
    if settled is None:
        return []
    words = texts(details.language)["trace"]
    at, cause = settled.confirmed_at, cause_name(settled.confirmed)
    said = words["settled" if settled.agreed else "settled_otherwise"].format(
        cause=cause,
        suggested=cause_name(settled.suggested),
        author=settled.author or "–",
        day=at.date().isoformat() if at else "–",
    )
    parts = [said, next_words(result, details)]
    if settled.parts:
        parts.append(words["parts"].format(words=", ".join(settled.parts)))
    if settled.retest:
        parts.append(words["retest"].format(words=settled.retest))
    return [Paragraph(" ".join(parts), strong=True, as_entered=True)]


def figure_blocks(
    result: TraceResult, before: TraceResult | None, details: ReportDetails
) -> list[Block]:
    """The plot with what people drew on it.

    Before and after a repair are drawn at STC, where marks made on a curve as measured would point
    at nothing: a marked curve is printed as measured, too. Marks on plots that documents do not
    print are counted.
    """
    form = "measured" if before is None else "stc"
    shown = [one for one in (result, before) if one is not None]
    figure = _figure(shown, form, result.trace.source)
    marks = shown_on(figure, form, details.marks)
    blocks = [FigureBlock(figure, caption(result, before, details.decimal_comma), marks=marks)]
    for one in shown if before is not None else ():
        alone = _figure([one], "measured", one.trace.source)
        if drawn := shown_on(alone, "measured", details.marks):
            words = caption(one, decimal_comma=details.decimal_comma)
            blocks.append(FigureBlock(alone, words, MARKED_HEIGHT, drawn))
    sources = {one.trace.source for one in shown}
    count = sum(one.trace_id in sources for one in details.marks)
    left = count - sum(len(one.marks) for one in blocks)
    if not left:
        return list(blocks)
    words = texts(details.language)["report"]["marks_left"]
    return [*blocks, Paragraph(words.format(count=left))]


def _figure(shown: Sequence[TraceResult], form: str, current: str) -> CurveFigure:
    styles = {one.trace.source: place for place, one in enumerate(shown)}
    return curve_figure(shown, styles, form, ("iv", "pv"), current)


def caption(
    result: TraceResult, before: TraceResult | None = None, decimal_comma: bool = False
) -> str:
    """String, serial, conditions, date; what else is drawn."""
    trace, used = result.trace, result.conditions
    parts = [trace_label(result, with_time=True)]
    if trace.serial:
        parts.append(f"serial {trace.serial}")
    if used.poa_global is not None:
        rear = has_rear_light(result)
        more = f" ({used.effective_irradiance:.0f} with the rear)" if rear else ""
        parts.append(f"{used.poa_global:.0f} W/m²{more}")
    if used.temperature_cell is not None:
        parts.append(localised(f"cells at {used.temperature_cell:.1f} °C", decimal_comma))
    if before is not None:
        parts.append(f"with {trace_label(before, with_time=True)}, both translated to STC")
    return ", ".join(parts) + "."

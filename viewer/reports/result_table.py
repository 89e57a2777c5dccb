"""Results as a table of plain text lines, for a terminal."""

from collections.abc import Iterable

from viewer.analysis.causes.cause_words import cause_name
from viewer.analysis.results.trace_result import TraceResult
from viewer.physics.nomenclature import counted, quantity
from viewer.reports.plain_table import aligned
from viewer.site_data.iv_trace import Unreadable

HEADINGS: tuple[str, ...] = (
    "Trace",
    "Combiner",
    "String",
    "Measured at",
    "W/m²",
    "Cell °C",
    "Isc A",
    "Voc V",
    "Pmp W",
    "predicted",
    "Ratio",
    "± (k=2)",
    "Finding",
)
_RIGHT = {"W/m²", "Cell °C", "Isc A", "Voc V", "Pmp W", "predicted", "Ratio", "± (k=2)"}
MISSING = "–"
REMARKS_LISTED = 20


def finding_text(result: TraceResult) -> str:
    """The first cause and the signatures behind it, in one line; what is missing if so."""
    if not result.signatures and (result.predicted is None or not result.candidate_causes):
        return result.missing[0] if result.missing else "No prediction."
    if not result.signatures:
        return _without_signature(result)
    kinds = ", ".join(dict.fromkeys(s.kind.replace("_", " ") for s in result.signatures))
    if not result.candidate_causes:
        return kinds
    best = result.candidate_causes[0]
    return f"{cause_name(best.cause)} {best.likelihood:.0%} ({kinds})"


def _without_signature(result: TraceResult) -> str:
    """As expected, unless the power alone says otherwise."""
    ratio, extra = result.power_ratio, result.power_ratio_uncertainty
    if ratio is None or extra is None or 1.0 - ratio <= extra:
        return "as expected"
    return f"{100.0 * (1.0 - ratio):.1f} % less power than predicted, none of it told by the shape"


def _row(result: TraceResult) -> tuple[str, ...]:
    trace, used = result.trace, result.conditions
    predicted = result.predicted.p_mp if result.predicted else None
    return (
        trace.source,
        trace.combiner or MISSING,
        trace.string or MISSING,
        f"{trace.measured_at:%Y-%m-%d %H:%M}" if trace.measured_at else MISSING,
        quantity("poa_global").text(used.poa_global),
        quantity("temperature_cell").text(used.temperature_cell),
        quantity("i_sc").text(result.measured.i_sc),
        quantity("v_oc").text(result.measured.v_oc),
        quantity("p_mp").text(result.measured.p_mp),
        quantity("p_mp").text(predicted),
        quantity("power_ratio").text(result.power_ratio),
        quantity("power_ratio_uncertainty").text(result.power_ratio_uncertainty),
        finding_text(result),
    )


def table_lines(outcomes: Iterable[TraceResult | Unreadable]) -> list[str]:
    """The table, what was noticed in reading, the files that could not be read, and the counts."""
    everything = list(outcomes)
    results = [o for o in everything if isinstance(o, TraceResult)]
    unreadable = [o for o in everything if isinstance(o, Unreadable)]
    lines = aligned(HEADINGS, [_row(r) for r in results], _RIGHT) if results else []
    noticed = _noticed(results)
    if noticed:
        lines += ["", "Noticed in reading:", *noticed[:REMARKS_LISTED]]
        if len(noticed) > REMARKS_LISTED:
            lines.append(f"  and {len(noticed) - REMARKS_LISTED} more; JSON has them all")
    if unreadable:
        lines += ["", "Not readable:"]
        lines += [f"  {_named(o)}" for o in unreadable]
    flagged = sum(bool(r.signatures) for r in results)
    traces = counted(len(results), "trace")
    lines += ["", f"{traces}, {flagged} with findings, {len(unreadable)} not readable"]
    return lines


def _noticed(results: Iterable[TraceResult]) -> list[str]:
    """What was noticed in reading, each sentence once with the traces it is of."""
    of_sentence: dict[str, list[str]] = {}
    for result in results:
        for sentence in dict.fromkeys(result.trace.remarks):
            of_sentence.setdefault(sentence, []).append(result.trace.source)
    return [
        f"  {sources[0]}{_and_more(len(sources) - 1)}: {sentence}"
        for sentence, sources in of_sentence.items()
    ]


def _and_more(count: int) -> str:
    return f" and {counted(count, 'other trace')}" if count else ""


def _named(bad: Unreadable) -> str:
    """The problem with the file it is of, which most sentences begin with."""
    return bad.problem if bad.problem.startswith(bad.source) else f"{bad.source}: {bad.problem}"

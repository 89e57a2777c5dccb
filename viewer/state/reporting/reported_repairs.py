"""Repairs as reports know them: which were made, and the traces before and after each."""

from collections import defaultdict
from collections.abc import Mapping, Sequence
from datetime import date

from viewer.analysis.causes.confirmation import Confirmation
from viewer.analysis.results.counting_trace import counting_traces
from viewer.analysis.results.trace_result import TraceResult
from viewer.reports.document.troubleshooting import RepairedString, WorkDone
from viewer.site_data.report_details_file import EnteredRepair
from viewer.site_data.site_file.annotations import Repair
from viewer.state.keeping.settled_store import all_wordings


def all_repairs(
    entered: Sequence[EnteredRepair],
    kept: Sequence[Repair],
    settled: Sequence[Confirmation] = (),
) -> list[EnteredRepair]:
    """Those entered with the details, then those of the site file that are not among them.

    What a site file keeps of a settled finding is left out: `settled_repairs` knows its traces.
    """
    known = {(one.combiner, one.string, one.done_on) for one in entered}
    told = {words for one in settled for words in all_wordings(one)}
    kept = [one for one in kept if one.text not in told]
    of_site = [
        EnteredRepair(one.combiner, one.string, one.repaired_on.isoformat(), one.text)
        for one in kept
    ]
    return [
        *entered,
        *(one for one in of_site if (one.combiner, one.string, one.done_on) not in known),
    ]


def repair_days_of(repairs: Sequence[EnteredRepair]) -> Mapping[tuple[str, str], Sequence[date]]:
    """The days on which each string was mended; a text that is no day is left out."""
    days: dict[tuple[str, str], list[date]] = defaultdict(list)
    for one in repairs:
        try:
            days[one.combiner, one.string].append(date.fromisoformat(one.done_on))
        except ValueError:
            continue
    return days


def repaired_strings(
    results: Sequence[TraceResult], repairs: Sequence[EnteredRepair]
) -> list[RepairedString]:
    """Each repair with the last trace before it and the first one after it.

    Of several traces of a day before or after that one is taken that counts (`counting_traces`).
    Where a string was traced more than once on the day of its repair, it was found, mended and
    traced again on one day: the first of these is before, the others are after.
    """
    made = []
    for one in repairs:
        own = sorted(
            (
                r
                for r in results
                if r.trace.measured_at is not None
                and (r.trace.combiner, r.trace.string) == (one.combiner, one.string)
            ),
            key=lambda r: r.trace.measured_at.timestamp() if r.trace.measured_at else 0.0,
        )
        if not own:
            continue
        earlier = [r for r in own if _day(r) < one.done_on]
        on_the_day = [r for r in own if _day(r) == one.done_on]
        if len(on_the_day) > 1 or not earlier:
            earlier += own[len(earlier) : len(earlier) + 1]
        later = own[len(earlier) :]
        after = [r for r in later if _day(r) == _day(later[0])]
        work = WorkDone(one.done_on, one.action, one.parts, one.by)
        made.append(RepairedString(_counting(earlier), _counting(after) if after else None, work))
    return made


def settled_repairs(
    results: Sequence[TraceResult],
    settled: Sequence[Confirmation],
    before_day: str,
    entered: Sequence[EnteredRepair] = (),
) -> list[RepairedString]:
    """What was done about settled findings, with the trace each is about and its retest.

    The day is that of the entry; where the string had been traced again by then it was done
    earlier, and `before_day` with `{day}` says before which retest. What was entered for a report
    in the same words is not told twice.
    """
    told = {(one.combiner, one.string, one.action.casefold()) for one in entered}
    by_source = {one.trace.source: one for one in results}
    made = []
    for one in settled:
        before = by_source.get(one.trace)
        if before is None or not one.action:
            continue
        if (*before.trace.place, one.action.casefold()) in told:
            continue
        after = by_source.get(one.retest) if one.retest else None
        day = one.confirmed_at.date().isoformat() if one.confirmed_at else ""
        if after is not None and _day(after) <= day:
            day = before_day.format(day=_day(after))
        work = WorkDone(day, one.action, ", ".join(one.parts), one.author or "")
        made.append(RepairedString(before, after, work))
    return made


def settled_days(repaired: Sequence[RepairedString]) -> Mapping[tuple[str, str], Sequence[date]]:
    """A day on or after which each of these strings was as mended: with a retest, that of the trace
    before it, from which day on only the retest counts; else the day of the entry."""
    days: dict[tuple[str, str], list[date]] = defaultdict(list)
    for one in repaired:
        text = _day(one.before) if one.after is not None else one.work.done_on
        if text:
            days[one.before.trace.place].append(date.fromisoformat(text))
    return days


def _counting(results: Sequence[TraceResult]) -> TraceResult:
    (found,) = counting_traces(results).values()
    return found


def _day(result: TraceResult) -> str:
    at = result.trace.measured_at
    return at.date().isoformat() if at else ""

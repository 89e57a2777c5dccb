"""The time of day, where a string has more than one trace of a day."""

from collections import Counter
from collections.abc import Sequence

from viewer.analysis.results.trace_result import TraceResult
from viewer.reports.curve_figure import trace_label

MINUTES = len("12:31")

Moment = tuple[str, ...]
"""Combiner, string, ISO day and ISO time of day; "" where one is not known."""


def day_and_time(moment: str) -> tuple[str, str]:
    """Both of an ISO time, without zone and parts of a second."""
    return moment[:10], moment[11:19]


def iso_time(result: TraceResult) -> str:
    """When it was measured; "" where that is not known."""
    at = result.trace.measured_at
    return at.isoformat() if at is not None else ""


def days_told(moments: Sequence[Moment]) -> list[str]:
    """The day of each trace, with the time where its string has several traces of that day."""
    told = [day for _, _, day, _ in moments]
    for place, time in _times(moments).items():
        told[place] = f"{told[place]} {time}".strip()
    return told


def names_told(moments: Sequence[Moment], with_days: bool = False) -> list[str]:
    """The string of each trace, for where days have no place of their own: with the day where it
    has traces of several days, with the time where it has several of one.

    with_days: with the day of all.
    """
    if with_days:
        days_of = days_told(moments)
        return [f"{one[1]}, {day}".strip(", ") for one, day in zip(moments, days_of, strict=True)]
    told = [string for _, string, _, _ in moments]
    several = _of_several(moments, slice(2))
    days: dict[Moment, set[str]] = {}
    for place in several:
        days.setdefault(moments[place][:2], set()).add(moments[place][2])
    times = _times(moments)
    for place in several:
        day = moments[place][2] if len(days[moments[place][:2]]) > 1 else ""
        if moment := f"{day} {times.get(place, '')}".strip():
            told[place] = f"{told[place]}, {moment}"
    return told


def _times(moments: Sequence[Moment]) -> dict[int, str]:
    """By place, the time of day of each trace whose string has others of that day.

    With seconds where the minutes do not tell them apart.
    """
    several = _of_several(moments, slice(3))
    cut = [(*moments[place][:3], moments[place][3][:MINUTES]) for place in several]
    alike = {several[one] for one in _of_several(cut, slice(4))}
    return {
        place: moments[place][3] if place in alike else moments[place][3][:MINUTES]
        for place in several
    }


def _of_several(moments: Sequence[Moment], part: slice) -> list[int]:
    """The places of those that are alike in that part: hardly any of tens of thousands."""
    parts = [moment[part] for moment in moments]
    if len(set(parts)) == len(parts):
        return []
    count = Counter(parts)
    return [place for place, one in enumerate(parts) if count[one] > 1]


def label_among(result: TraceResult, others: Sequence[TraceResult]) -> str:
    """Combiner, string and day of a trace; with the time if the string has others of that day."""
    trace = result.trace
    same = [
        one for one in others if one.trace.place == trace.place and one.trace.source != trace.source
    ]
    moments = [(*trace.place, *day_and_time(iso_time(one))) for one in (result, *same)]
    return f"{trace_label(result)}, {days_told(moments)[0]}".rstrip(", ")

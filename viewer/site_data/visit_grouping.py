"""Which traces belong to one visit: those measured with no long pause between them."""

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from typing import Protocol

LONGEST_PAUSE = timedelta(days=30)
"""A longer pause begins a new visit. Common practice, no source: yearly or half-yearly visits."""

UNDATED = "no date"


class Dated(Protocol):
    """What a visit is told by: a trace's, or what stands for it."""

    @property
    def source(self) -> str: ...

    @property
    def measured_at(self) -> datetime | None: ...


@dataclass(frozen=True)
class VisitGroup:
    """`members` are places in the sequence given; the times are None for undated traces."""

    name: str
    members: tuple[int, ...]
    started_at: datetime | None = None
    ended_at: datetime | None = None


def comparable(moment: datetime) -> datetime:
    """The moment with an offset; one recorded without is taken as UTC, for ordering only."""
    return moment if moment.tzinfo is not None else moment.replace(tzinfo=UTC)


def group_visits(traces: Sequence[Dated], pause: timedelta = LONGEST_PAUSE) -> list[VisitGroup]:
    """The visits in order of time, the undated traces last.

    A visit is named after the subfolder that holds all of its traces and no other visit's,
    else after its first day.
    """
    moments = [
        (trace.measured_at, place)
        for place, trace in enumerate(traces)
        if trace.measured_at is not None
    ]
    if len({moment.tzinfo is None for moment, _ in moments}) > 1:
        moments = [(comparable(moment), place) for moment, place in moments]
    dated = sorted(moments)
    runs: list[list[int]] = []
    last: datetime | None = None
    for moment, place in dated:
        if last is None or moment - last > pause:
            runs.append([])
        runs[-1].append(place)
        last = moment
    undated = [place for place, trace in enumerate(traces) if trace.measured_at is None]
    folders = [{_subfolder(traces[place].source) for place in run} for run in runs]
    used = Counter(name for names in folders for name in names)
    groups = [
        _dated_group(traces, run, _own_folder(names, used))
        for run, names in zip(runs, folders, strict=True)
    ]
    return groups + ([VisitGroup(UNDATED, tuple(undated))] if undated else [])


def baseline_place(
    visits: Sequence[VisitGroup], name: str | None, marked_start: datetime | None
) -> int | None:
    """Which visit later ones are compared with: the one of that name, else the one that began
    then, else the first dated one; None where none is dated."""
    for place, visit in enumerate(visits):
        if name is not None and visit.name == name:
            return place
    for place, visit in enumerate(visits):
        if marked_start is not None and visit.started_at == marked_start:
            return place
    dated = (place for place, visit in enumerate(visits) if visit.started_at is not None)
    return next(dated, None)


def _subfolder(source: str) -> str:
    folder, slash, _ = source.partition("/")
    return folder if slash else ""


def _own_folder(names: set[str], used: Counter[str]) -> str:
    if len(names) != 1:
        return ""
    (name,) = names
    return name if used[name] == 1 else ""


def _dated_group(traces: Sequence[Dated], run: list[int], folder: str) -> VisitGroup:
    first, last = traces[run[0]].measured_at, traces[run[-1]].measured_at
    day = first.date().isoformat() if first else UNDATED
    return VisitGroup(folder or day, tuple(run), first, last)


def visit_place(names: Sequence[str], name: str) -> int:
    """Which of the visits bears that name. Raises ValueError naming them if none does."""
    if name not in names:
        raise ValueError(f"there is no visit {name}; known: {', '.join(names)}")
    return names.index(name)

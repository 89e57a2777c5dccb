"""The rows of the string list: computed, filtered and sorted here, only painted elsewhere."""

from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace
from functools import cached_property, lru_cache
from operator import attrgetter
from typing import Any

from viewer.analysis.causes.cause_words import cause_name
from viewer.analysis.causes.confirmation import Confirmation
from viewer.analysis.results.trace_result import TraceResult
from viewer.reading.trace_files import natural_key
from viewer.state.program.settings import Settings
from viewer.state.strings.standing import Standing, standing
from viewer.state.strings.times_of_day import Moment, day_and_time, iso_time

NaturalKey = tuple[tuple[int, str], ...]
natural: Callable[[str], NaturalKey] = lru_cache(maxsize=100_000)(natural_key)
"""`natural_key`, remembered: at every arrival tens of thousands of names are sorted again."""


@dataclass(frozen=True)
class StringRow:
    """One trace as the list shows it."""

    trace_id: str
    combiner: str
    string: str
    day: str
    time: str
    """Of day, to the second; "" where it is not known."""
    power_ratio: float | None
    standing: Standing
    first_cause: str
    search_text: str
    settled: str = ""
    """Whether somebody "confirmed" or "corrected" the cause; then `first_cause` is what they
    found."""

    @cached_property
    def place(self) -> tuple[NaturalKey, NaturalKey, str, str]:
        """A sort key: by combiner, string, day and time of day."""
        return natural(self.combiner), natural(self.string), self.day, self.time


moment_of: Callable[[StringRow], Moment] = attrgetter("combiner", "string", "day", "time")


def string_row(result: TraceResult, settings: Settings) -> StringRow:
    trace = result.trace
    return made_row(
        trace.source,
        trace.combiner,
        trace.string,
        iso_time(result),
        result.power_ratio,
        standing(result, settings),
        words_of_cause(result),
    )


def made_row(
    source: str,
    combiner: str | None,
    string: str | None,
    moment: str,
    power_ratio: float | None,
    how: Standing,
    cause: str,
) -> StringRow:
    """A trace's row with the words that the filter looks through; `moment` is an ISO time."""
    box, name = combiner or "", string or source
    day, time = day_and_time(moment)
    words = " ".join((box, name, day, time, how.words, cause, source)).lower()
    return StringRow(source, box, name, day, time, power_ratio, how, cause, words)


def words_of_cause(result: TraceResult) -> str:
    """The first candidate cause in words; nothing when none is needed."""
    first = result.candidate_causes[0].cause if result.candidate_causes else None
    return needed_cause(first)


def needed_cause(first: str | None) -> str:
    """The name of a first cause in words; nothing for "none" and where there is no cause."""
    return "" if first in (None, "none") else cause_name(str(first))


def as_settled(row: StringRow, found: Confirmation) -> StringRow:
    """The row of a trace whose cause was settled in the field."""
    cause = cause_name(found.confirmed)
    how = "confirmed" if found.agreed else "corrected"
    words = f"{row.search_text} {cause} {how}".lower()
    return replace(row, first_cause=cause, search_text=words, settled=how)


def _by_ratio(row: StringRow) -> tuple[Any, ...]:
    missing = row.power_ratio is None
    return missing, 0.0 if missing else row.power_ratio


SORT_KEYS: dict[str, Callable[[StringRow], Any]] = {
    "combiner": attrgetter("place"),
    "string": lambda row: (natural(row.string), natural(row.combiner), row.day, row.time),
    "day": lambda row: (row.day, row.place),
    "power_ratio": _by_ratio,
    "standing": lambda row: (row.standing.rank, _by_ratio(row)),
    "first_cause": lambda row: (row.first_cause == "", row.first_cause, _by_ratio(row)),
}


@dataclass(frozen=True)
class RowFilter:
    """What the list shows: words that must all occur, one combiner, one level, some traces."""

    words: str = ""
    combiner: str | None = None
    level: str | None = None
    trace_ids: frozenset[str] | None = None

    def passing(self, rows: Iterable[StringRow]) -> list[StringRow]:
        """Those that all of it lets pass: tens of thousands are gone through at every arrival."""
        ids, combiner, level = self.trace_ids, self.combiner, self.level
        left = list(rows) if ids is None else [row for row in rows if row.trace_id in ids]
        if combiner is not None:
            left = [row for row in left if row.combiner == combiner]
        if level is not None:
            left = [row for row in left if row.standing.level == level]
        for word in self.words.lower().split():
            left = [row for row in left if word in row.search_text]
        return left


def arranged(
    rows: Iterable[StringRow], wanted: RowFilter, sort_by: str, falling: bool = False
) -> tuple[StringRow, ...]:
    """The rows that pass the filter, sorted by a column of SORT_KEYS."""
    return tuple(sorted(wanted.passing(rows), key=SORT_KEYS[sort_by], reverse=falling))


def is_suspect(row: StringRow) -> bool:
    """Whether a trace is worth a look."""
    return row.standing.level in ("short", "watch", "unsure")


def suspects(rows: Iterable[StringRow]) -> tuple[str, ...]:
    """Ids of the traces worth a look, the furthest below their prediction first.

    Not by standing: dirt on a string fails the check of irradiance against Isc, and the worst
    strings of a site would come last, after all that are only to be watched.
    """
    bad = [row for row in rows if is_suspect(row)]
    return tuple(row.trace_id for row in sorted(bad, key=_by_ratio))

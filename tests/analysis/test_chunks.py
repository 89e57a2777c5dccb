"""How traces are taken together for the analysis."""

from dataclasses import dataclass
from datetime import datetime, timedelta

from viewer.analysis.batch import (
    OF_ONE_GROUP,
    TRACES_AT_FIRST,
    TRACES_AT_ONCE,
    chunks,
    neighbour_groups,
)


@dataclass(frozen=True)
class Place:
    combiner: str


@dataclass(frozen=True)
class Traced:
    source: str
    combiner: str | None
    measured_at: datetime


def sizes(groups: list[tuple[Place, ...]]) -> list[int]:
    return [sum(map(len, chunk)) for chunk in chunks(groups)]


def test_the_first_are_few_and_no_group_is_parted() -> None:
    groups = [(Place(f"C{number}"),) * 20 for number in range(100)]
    made = list(chunks(groups))
    assert [group for chunk in made for group in chunk] == groups
    first, *middle, _ = sizes(groups)
    assert TRACES_AT_FIRST <= first < TRACES_AT_FIRST + 20
    assert middle
    assert all(TRACES_AT_ONCE <= size < TRACES_AT_ONCE + 20 for size in middle)


def test_one_large_group_and_none() -> None:
    assert sizes([(Place("C"),) * 2000]) == [2000]
    assert sizes([]) == []


def test_of_a_few_hundred_traces_there_are_chunks_enough_to_be_shared() -> None:
    groups = [(Place(f"C{number}"),) * 20 for number in range(40)]
    first, *middle, last = sizes(groups)
    assert len(middle) >= 2
    assert max(first, last, *middle) < 220


def visit(day: int, combiners: int, strings: int) -> list[Traced]:
    at = datetime(2031, 4, 1, 9, 0) + timedelta(days=day)
    return [
        Traced(f"{day}/{box}/{k}", f"C{box:02}", at + timedelta(minutes=box * strings + k))
        for box in range(combiners)
        for k in range(strings)
    ]


def test_combiners_of_a_visit_know_of_each_other_and_none_is_parted() -> None:
    groups = neighbour_groups(visit(0, 3, 20) + visit(400, 14, 18))
    assert [len(group) for group in groups] == [60, 108, 108, 36]
    assert OF_ONE_GROUP == 100
    for group in groups:
        assert len({trace.measured_at.year for trace in group}) == 1
    together = [{trace.combiner for trace in group} for group in groups[1:]]
    assert sum(map(len, together)) == len(set.union(*together)) == 14


def test_what_a_group_is_does_not_depend_on_other_visits() -> None:
    alone = neighbour_groups(visit(400, 14, 18))
    assert neighbour_groups(visit(400, 14, 18) + visit(0, 3, 20))[-3:] == alone

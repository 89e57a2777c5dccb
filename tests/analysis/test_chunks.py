"""How traces are taken together for the analysis."""

from dataclasses import dataclass

from viewer.analysis.batch import TRACES_AT_FIRST, TRACES_AT_ONCE, chunks


@dataclass(frozen=True)
class Place:
    combiner: str


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

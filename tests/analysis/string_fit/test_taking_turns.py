"""Searches that await: each is told its own answers, and what is alike is computed together."""

import pytest

from viewer.analysis.string_fit.taking_turns import Asked, answered, side_by_side

SEEN: list[int] = []


class Doubled(Asked[int]):
    """Twice a number, after as many turns as it has digits."""

    def __init__(self, number: int) -> None:
        self.number = number

    @property
    def kind(self) -> tuple[bool]:
        return (self.number % 2 == 0,)

    def together(self) -> "Doubling":
        return Doubling()


class Doubling:
    def __init__(self) -> None:
        self.left: list[list[int]] = []

    def __len__(self) -> int:
        return len(self.left)

    def add(self, ticket: int, asked: Doubled) -> None:
        self.left.append([ticket, asked.number, len(str(asked.number))])

    def turn(self) -> list[tuple[int, int]]:
        SEEN.append(len(self.left))
        for one in self.left:
            one[2] -= 1
        ended = [(ticket, 2 * number) for ticket, number, turns in self.left if turns == 0]
        self.left = [one for one in self.left if one[2] > 0]
        return ended


async def twice_doubled(number: int) -> int:
    return await Doubled(await Doubled(number))


async def sum_of_doubled(*numbers: int) -> int:
    return sum(await side_by_side(Doubled(number) for number in numbers))


async def nothing() -> int:
    return 7


async def fails() -> int:
    await Doubled(1)
    raise ValueError("that one")


def test_each_search_is_told_its_own_answers() -> None:
    numbers = [1, 22, 333, 4, 55, 66]
    assert answered(map(twice_doubled, numbers)) == [4 * number for number in numbers]


def test_one_search_may_await_several() -> None:
    assert answered([sum_of_doubled(1, 20, 300), sum_of_doubled(), sum_of_doubled(5)]) == [
        642,
        0,
        10,
    ]


def test_searches_within_searches() -> None:
    async def all_of_them() -> list[int]:
        return await side_by_side([twice_doubled(3), sum_of_doubled(10, 1), nothing()])

    assert answered([all_of_them()]) == [[12, 22, 7]]


def test_what_is_alike_is_computed_together() -> None:
    SEEN.clear()
    answered(twice_doubled(number) for number in (2, 4, 6, 8))
    assert SEEN[0] == 4


def test_none_gives_none() -> None:
    assert answered([]) == []


def test_a_failure_leaves_the_others_closed(recwarn: pytest.WarningsRecorder) -> None:
    others = [twice_doubled(number) for number in (11, 12)]
    with pytest.raises(ValueError, match="that one"):
        answered([others[0], fails(), others[1]])
    assert all(one.cr_frame is None for one in others)
    assert not recwarn.list

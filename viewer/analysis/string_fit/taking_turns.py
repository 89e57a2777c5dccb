"""Searches that await what they need computed, so that many are computed side by side.

A search is a coroutine without an event loop: what it awaits (a fit, a string's greatest power) is
handed out, and it goes on with the answer. Many searches take turns, and what is alike in what
they await is computed together, for numpy takes as long to begin as to compute one string.
"""

from abc import ABC, abstractmethod
from collections.abc import Awaitable, Generator, Iterable
from itertools import count, islice
from typing import Any, Generic, Protocol, TypeVar

Found = TypeVar("Found")


class Together(Protocol):
    """Computes what is asked for side by side, over as many turns as it takes."""

    def __len__(self) -> int:
        """How many are under way."""

    def add(self, ticket: int, asked: Any) -> None: ...

    def turn(self) -> list[tuple[int, Any]]:
        """One step for all of them; the tickets and answers of those that it ended."""


class Asked(ABC, Generic[Found]):
    """Something to compute; await it for the answer."""

    @property
    @abstractmethod
    def kind(self) -> tuple[Any, ...]:
        """What it has in common with what may be computed beside it."""

    @abstractmethod
    def together(self) -> Together:
        """Where all of that kind are computed; none is under way yet."""

    def __await__(self) -> Generator["list[Asked[Any]]", list[Any], Found]:
        (answer,) = yield [self]
        return answer


async def side_by_side(searches: Iterable[Awaitable[Found]]) -> list[Found]:
    """All of the searches as one; what each finds, in their order."""
    return await _SideBySide(searches)


class _SideBySide(Generic[Found]):
    def __init__(self, searches: Iterable[Awaitable[Found]]) -> None:
        self._searches = [_Turns(one) for one in searches]

    def __await__(self) -> Generator[list[Asked[Any]], list[Any], list[Found]]:
        going = self._searches
        while True:
            asked = [one.next_turn() for one in going]
            going = [one for one in going if not one.ended]
            if not going:
                return [one.found for one in self._searches]
            answers = iter((yield [what for part in asked for what in part]))
            for one in going:
                one.answers = list(islice(answers, len(one.answers)))


class _Turns(Generic[Found]):
    """A search, what it is still to be told in this turn, and in the end what it found."""

    found: Found

    def __init__(self, search: Awaitable[Found]) -> None:
        self._search = search.__await__()
        self.answers: list[Any] = []
        self.lacks = 0
        self.ended = False

    def take(self, place: int, answer: Any) -> bool:
        """Whether that was the last answer of the turn."""
        self.answers[place] = answer
        self.lacks -= 1
        return self.lacks == 0

    def next_turn(self) -> list[Asked[Any]]:
        """What the search asks for next, told the answers; nothing when it has ended."""
        try:
            asked: list[Asked[Any]] = (
                self._search.send(self.answers) if self.answers else next(self._search)
            )
        except StopIteration as end:
            self.found, self.ended = end.value, True
            asked = []
        self.answers, self.lacks = [None] * len(asked), len(asked)
        return asked

    def close(self) -> None:
        """Left where it is, if it has not ended."""
        self._search.close()


def answered(searches: Iterable[Awaitable[Found]]) -> list[Found]:
    """What each search finds, in their order."""
    everyone = [_Turns(search) for search in searches]
    under_way: dict[tuple[Any, ...], Together] = {}
    tickets: dict[int, tuple[_Turns[Found], int]] = {}
    numbers = count()

    def go_on(one: _Turns[Found]) -> None:
        for place, asked in enumerate(one.next_turn()):
            ticket = next(numbers)
            tickets[ticket] = one, place
            if asked.kind not in under_way:
                under_way[asked.kind] = asked.together()
            under_way[asked.kind].add(ticket, asked)

    try:
        for one in everyone:
            go_on(one)
        while tickets:
            # where most are under way, so that few seldom go alone
            for ticket, answer in max(under_way.values(), key=len).turn():
                one, place = tickets.pop(ticket)
                if one.take(place, answer):
                    go_on(one)
    finally:
        for one in everyone:
            one.close()
    return [one.found for one in everyone]

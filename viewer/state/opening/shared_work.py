"""Work shared out to workers, each with a share of its own, done in whatever order it ends."""

from collections import deque
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import FIRST_COMPLETED, Future, wait
from itertools import pairwise
from typing import TypeVar

Work = TypeVar("Work")
Result = TypeVar("Result")

AHEAD = 2
"""Pieces waiting for each worker: enough to keep it busy, few enough to cancel at once."""


def do_shares(
    shares: Sequence[Sequence[Work]], begin: Callable[[int, Work], Future[Result]]
) -> Iterator[tuple[Work, Result]]:
    """Each piece with its result, as they come; `begin` hands a piece to the worker of a number.

    A worker goes through its own share in order and then takes from the end of the longest
    other. What a piece raises is raised here.
    """
    left = [deque(share) for share in shares]
    under_way: dict[Future[Result], tuple[int, Work]] = {}

    def feed(worker: int) -> None:
        share = left[worker] or max(left, key=len)
        if share:
            work = share.popleft() if share is left[worker] else share.pop()
            under_way[begin(worker, work)] = worker, work

    for _ in range(AHEAD):
        for worker in range(len(left)):
            feed(worker)
    while under_way:
        done, _ = wait(under_way, return_when=FIRST_COMPLETED)
        for future in done:
            worker, work = under_way.pop(future)
            feed(worker)
            yield work, future.result()


def in_parts(work: Sequence[Work], parts: int) -> list[Sequence[Work]]:
    """The sequence cut into that many runs of about one length."""
    cuts = [len(work) * k // parts for k in range(parts + 1)]
    return [work[begin:end] for begin, end in pairwise(cuts)]

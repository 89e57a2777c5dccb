"""Work is done once, by whoever is free."""

from collections import Counter
from concurrent.futures import Future

import pytest

from viewer.state.opening.shared_work import do_shares, in_parts


class Slow:
    """Workers of which the second never ends a piece before the first is idle."""

    def __init__(self) -> None:
        self.done_by: dict[int, int] = {}
        self.held: list[tuple[Future[int], int]] = []

    def begin(self, worker: int, piece: int) -> Future[int]:
        self.done_by[piece] = worker
        future: Future[int] = Future()
        if worker == 0:
            future.set_result(piece * piece)
        else:
            self.held.append((future, piece))
        if len(self.done_by) == 20:
            for waiting, late in self.held:
                waiting.set_result(late * late)
        return future


def test_the_free_worker_takes_from_the_end_of_the_other() -> None:
    workers = Slow()
    found = dict(do_shares(in_parts(range(20), 2), workers.begin))
    assert found == {k: k * k for k in range(20)}
    assert Counter(workers.done_by.values()) == {0: 18, 1: 2}
    assert [k for k, worker in workers.done_by.items() if worker == 1] == [10, 11]
    assert list(workers.done_by)[-1] == 12


def test_every_piece_is_in_one_part() -> None:
    parts = in_parts(range(11), 3)
    assert [one for part in parts for one in part] == list(range(11))
    assert max(map(len, parts)) - min(map(len, parts)) <= 1


def test_what_a_piece_raises_is_raised() -> None:
    def begin(worker: int, piece: int) -> Future[int]:
        future: Future[int] = Future()
        future.set_exception(ValueError(f"piece {piece}"))
        return future

    with pytest.raises(ValueError, match="piece 0"):
        list(do_shares([[0]], begin))


def test_no_work() -> None:
    assert not list(do_shares([[], []], lambda worker, piece: Future()))

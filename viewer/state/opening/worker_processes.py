"""Large sites are read and analysed by several processes, each with a share of the files.

Processes are started afresh ("spawn"), so that a window's threads are not copied into them.
"""

import multiprocessing
import os
import signal
from collections import Counter, deque
from collections.abc import Iterator, Sequence
from concurrent.futures import FIRST_COMPLETED, Future, ProcessPoolExecutor, wait
from contextlib import contextmanager
from dataclasses import dataclass
from itertools import chain
from multiprocessing.process import BaseProcess

from viewer.analysis.batch import Group, analyze_traces, chunks, compare_or_say_why
from viewer.analysis.comparison import AnalysisInputs
from viewer.analysis.prediction.site_models import site_models
from viewer.analysis.results.trace_result import TraceResult
from viewer.reading.visits.open_source import OpenedSource
from viewer.site_data.iv_trace import Trace, Unreadable
from viewer.state.opening.process_environment import ONE_THREAD
from viewer.state.opening.result_transport import unpacked
from viewer.state.opening.shared_work import AHEAD, do_shares, in_parts
from viewer.state.opening.worker_tasks import (
    Given,
    HeldTrace,
    compare,
    learn,
    read_files,
    serve_the_starter,
    started,
)

WORTH_STARTING = 500
"""Traces below which all is done before another process could help."""
WORTH_WAITING = 1500
"""Traces from which on all is done by others, a process a core: nothing is begun before they are
there. Of fewer this process does its share and one process less helps."""
READ_AT_ONCE = 50
"""Files between two reports of progress."""

OF_WORKERS = {
    **ONE_THREAD,
    "MALLOC_MMAP_THRESHOLD_": "67108864",
    "MALLOC_TRIM_THRESHOLD_": "268435456",
}
"""One thread for each process; freed memory (by glibc) kept for the next chunk, which
needs as much."""

Found = tuple[Trace | HeldTrace | Unreadable, ...]
"""What reading gives: traces, or what stands for those a worker holds."""
Chunk = list[tuple[Trace | HeldTrace, ...]]
Outcomes = tuple[TraceResult | Unreadable, ...]


@dataclass(frozen=True, eq=False)
class ReadStep:
    """`done` files were read so far, and what was found in them since the last step that tells.

    All that is found comes in order of the files; several processes tell it at the end.
    """

    done: int
    found: Found = ()


def worth_sharing(traces: int) -> bool:
    """Whether so many traces are all read and analysed by several processes."""
    return traces >= WORTH_WAITING and _may_start()


def _may_start() -> bool:
    """A process that computes for the window may start none: what it began would outlive it."""
    return not multiprocessing.current_process().daemon and _usable_cores() > 1


class Workers:
    """Processes for one opening; leaving the context ends them, whatever they are at.

    behind_window: they give way to the window, which shows what they compute.
    """

    def __init__(self, behind_window: bool = False) -> None:
        self._behind_window = behind_window
        self.pools: list[ProcessPoolExecutor] = []
        self._processes: list[BaseProcess] = []

    def __enter__(self) -> "Workers":
        return self

    def __exit__(self, *_: object) -> None:
        # left alone, a process that is still being loaded keeps the program from ending, and on
        # Python 3.11 a pool that ends as the program does can keep it for ever
        for process in self._processes:
            process.terminate()
        for pool in self.pools:
            pool.shutdown(wait=True, cancel_futures=True)

    def expect(self, traces: int) -> None:
        """Starts processes at once if there is enough to do, while the caller goes on."""
        if self.pools or traces < WORTH_STARTING or not _may_start():
            return
        context = multiprocessing.get_context("spawn")
        count = _usable_cores() if traces >= WORTH_WAITING else _usable_cores() - 1
        self.pools = [
            ProcessPoolExecutor(1, context, initializer=serve_the_starter) for _ in range(count)
        ]
        before = set(multiprocessing.active_children())
        with _environment_of_workers(), _interrupts_held_back():
            for pool in self.pools:
                pool.submit(started, self._behind_window)
        new = set(multiprocessing.active_children()) - before
        self._processes = [one for one in new if not one.daemon]

    def analysis(self, opened: OpenedSource, inputs: AnalysisInputs | None = None) -> "Analysis":
        """What reads and compares the traces of an opened source: here, or on all cores."""
        self.expect(len(opened.sources))
        if not self.pools:
            return AnalysisHere(opened, inputs)
        elsewhere = AnalysisElsewhere(opened, inputs, self.pools)
        if worth_sharing(len(opened.sources)):
            return elsewhere
        return AnalysisHelped(AnalysisHere(opened, inputs), elsewhere)


class AnalysisHere:
    """Everything in this process, one piece after the other."""

    def __init__(self, opened: OpenedSource, inputs: AnalysisInputs | None) -> None:
        self._opened = opened
        self._inputs = inputs

    def read(self) -> Iterator[ReadStep]:
        sources = self._opened.sources
        for begin in range(0, len(sources), READ_AT_ONCE):
            piece = sources[begin : begin + READ_AT_ONCE]
            found = tuple(one for source in piece for one in self._opened.read(source))
            yield ReadStep(begin + len(piece), found)

    def compare(self, groups: Chunk) -> Iterator[Outcomes]:
        """One tuple of outcomes a chunk of groups."""
        return analyze_traces(only_traces(groups), self._opened.layout, self._inputs)


class AnalysisElsewhere:
    """Each process reads a run of the files and compares, first of all, the traces it read.

    The chunks are those of `AnalysisHere`, so that the results are the same to the last bit.
    """

    def __init__(
        self,
        opened: OpenedSource,
        inputs: AnalysisInputs | None,
        pools: Sequence[ProcessPoolExecutor],
    ) -> None:
        self._opened = opened
        self._pools = pools
        self._reader_of: dict[str, int] = {}
        self._begun = 0
        read = opened.read if opened.readable_elsewhere else None
        self.given = Given(opened.layout, site_models(opened.layout.modules), inputs, read)
        self._told = [pool.submit(learn, self.given) for pool in pools]

    @property
    def ready(self) -> bool:
        """Whether all processes are there and know the site."""
        return all(told.done() for told in self._told)

    def read(self) -> Iterator[ReadStep]:
        if not self._opened.readable_elsewhere:
            yield from AnalysisHere(self._opened, None).read()
            return
        for told in self._told:
            told.result()
        sources = self._opened.sources
        pieces = [sources[at : at + READ_AT_ONCE] for at in range(0, len(sources), READ_AT_ONCE)]
        numbered = in_parts(list(enumerate(pieces)), len(self._pools))
        found: list[Found] = [()] * len(pieces)
        done = 0
        for (number, piece), read in do_shares(numbered, self._begin_reading):
            found[number] = read
            done += len(piece)
            everything = done == len(sources)
            yield ReadStep(done, tuple(chain.from_iterable(found)) if everything else ())

    @property
    def processes(self) -> int:
        return len(self._pools)

    def begin(self, piece: Chunk) -> Future[bytes]:
        """A piece to be compared by the processes in turn; `unpacked` gives its outcomes."""
        self._begun += 1
        return self._begin_comparing(self._begun % len(self._pools), piece)

    def compare(self, groups: Chunk) -> Iterator[Outcomes]:
        for told in self._told:
            told.result()
        shares: list[list[Chunk]] = [[] for _ in self._pools]
        for number, piece in enumerate(chunks(groups)):
            shares[self._nearest(piece, number % len(shares))].append(piece)
        for _, content in do_shares(shares, self._begin_comparing):
            yield unpacked(content)

    def _begin_reading(self, worker: int, piece: tuple[int, tuple[str, ...]]) -> Future[Found]:
        self._reader_of |= dict.fromkeys(piece[1], worker)
        return self._pools[worker].submit(read_files, piece[1])

    def _begin_comparing(self, worker: int, piece: Chunk) -> Future[bytes]:
        return self._pools[worker].submit(compare, piece)

    def _nearest(self, piece: Chunk, otherwise: int) -> int:
        """The worker that holds most of the chunk's traces; where none holds any, they take turns,
        so that what comes first is done first."""
        holders = Counter(
            self._reader_of[one.file]
            for group in piece
            for one in group
            if isinstance(one, HeldTrace)
        )
        return holders.most_common(1)[0][0] if holders else otherwise


class AnalysisHelped:
    """Done in this process, from the beginning on, and by others, from the end on, once they are
    there.

    So a visit of faulty strings is done sooner, and one of sound strings no later.
    """

    def __init__(self, here: AnalysisHere, elsewhere: AnalysisElsewhere) -> None:
        self._here = here
        self._elsewhere = elsewhere

    def read(self) -> Iterator[ReadStep]:
        return self._here.read()

    def compare(self, groups: Chunk) -> Iterator[Outcomes]:
        left = deque(chunks(groups))
        handed: dict[Future[bytes], Chunk] = {}
        while left or handed:
            while len(left) > 1 and len(handed) < AHEAD * self._elsewhere.processes:
                piece = left.pop()
                handed[self._elsewhere.begin(piece)] = piece
            if left:
                yield self._compared_here(left.popleft())
            elif self._elsewhere.ready:
                wait(handed, return_when=FIRST_COMPLETED)
            else:  # nothing that others have not even begun is waited for
                yield self._compared_here(handed.pop(next(iter(handed))))
            for future in [one for one in handed if one.done()]:
                del handed[future]
                yield unpacked(future.result())

    def _compared_here(self, piece: Chunk) -> Outcomes:
        given = self._elsewhere.given
        return compare_or_say_why(only_traces(piece), given.layout, given.models, given.inputs)


Analysis = AnalysisHere | AnalysisElsewhere | AnalysisHelped


def only_traces(groups: Chunk) -> list[Group]:
    """The groups where all was read by this process."""
    return [tuple(one for one in group if isinstance(one, Trace)) for group in groups]


@contextmanager
def _environment_of_workers() -> Iterator[None]:
    """What a library reads when a process starts; what is set already stays as it is."""
    added = {name: value for name, value in OF_WORKERS.items() if name not in os.environ}
    os.environ.update(added)
    try:
        yield
    finally:
        for name in added:
            os.environ.pop(name, None)


@contextmanager
def _interrupts_held_back() -> Iterator[None]:
    """A process that is started here never sees Ctrl+C, not even while it is being loaded; this
    one sees it a moment later."""
    if not hasattr(signal, "pthread_sigmask"):  # there is no such thing on Windows
        yield
        return
    before = signal.pthread_sigmask(signal.SIG_BLOCK, {signal.SIGINT})
    try:
        yield
    finally:
        signal.pthread_sigmask(signal.SIG_SETMASK, before)


def _usable_cores() -> int:
    return len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1

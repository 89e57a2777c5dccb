"""Large sites are analysed by several processes, each taking a chunk of combiners at a time.

Processes are started afresh ("spawn"), so that a window's threads are not copied into them.
"""

import multiprocessing
import os
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import FIRST_COMPLETED, Future, ProcessPoolExecutor, wait
from contextlib import contextmanager

from viewer.analysis.batch import Group, analyze_traces, chunks, compare_or_say_why
from viewer.analysis.comparison import AnalysisInputs
from viewer.analysis.site_models import SiteModels, site_models
from viewer.analysis.trace_result import TraceResult
from viewer.site_data.iv_trace import Unreadable
from viewer.site_data.site_layout import SiteLayout

WORTH_STARTING = 1500
"""Traces below which the start of a process costs more than it saves."""
AHEAD = 2
"""Chunks waiting for each process: enough to keep it busy, few enough to cancel at once."""

Outcomes = tuple[TraceResult | Unreadable, ...]
Analyse = Callable[[Sequence[Group]], Iterator[Outcomes]]

_given: dict[str, tuple[SiteLayout, SiteModels, AnalysisInputs | None]] = {}
"""What a worker process was started with; empty in any other process."""


@contextmanager
def analysis_workers(
    layout: SiteLayout, expected: int, inputs: AnalysisInputs | None = None
) -> Iterator[Analyse]:
    """What compares groups of traces, as `analysis.batch.analyze_traces` does.

    With many traces `expected` it works on all cores, whose processes start at once, while the
    caller still reads files. Leaving the context stops them once their chunk is done.
    """
    cores = _usable_cores()
    if cores < 2 or expected < WORTH_STARTING:
        yield lambda groups: analyze_traces(groups, layout, inputs)
        return
    pool = ProcessPoolExecutor(
        cores,
        mp_context=multiprocessing.get_context("spawn"),
        initializer=_start,
        initargs=(layout, site_models(layout.modules), inputs),
    )
    try:
        for _ in range(cores):
            pool.submit(_started)
        yield lambda groups: _finished(pool, chunks(groups), AHEAD * cores)
    finally:
        pool.shutdown(wait=False, cancel_futures=True)


def _usable_cores() -> int:
    return len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1


def _finished(
    pool: ProcessPoolExecutor, work: Iterator[list[Group]], most: int
) -> Iterator[Outcomes]:
    under_way: set[Future[Outcomes]] = set()
    for chunk in work:
        under_way.add(pool.submit(_compare, chunk))
        if len(under_way) >= most:
            done, under_way = wait(under_way, return_when=FIRST_COMPLETED)
            yield from (future.result() for future in done)
    while under_way:
        done, under_way = wait(under_way, return_when=FIRST_COMPLETED)
        yield from (future.result() for future in done)


def _start(layout: SiteLayout, models: SiteModels, inputs: AnalysisInputs | None) -> None:
    _given["all"] = (layout, models, inputs)


def _started() -> bool:
    """Nothing to do: a process starts when it is first asked for anything."""
    return bool(_given)


def _compare(groups: Sequence[Group]) -> Outcomes:
    return compare_or_say_why(groups, *_given["all"])

"""Opening a site from start to results, a piece at a time: both faces of the program use it."""

import gc
from collections.abc import Iterator, Sequence
from pathlib import Path

from viewer.analysis.batch import One, neighbour_groups
from viewer.analysis.comparison import AnalysisInputs
from viewer.analysis.results.trace_result import TraceResult
from viewer.reading.visits.copied_files import counted_once
from viewer.reading.visits.open_source import open_source
from viewer.reading.visits.visit_folder import FolderError, failures, left_out, nothing_but
from viewer.site_data.iv_trace import NotATrace, Trace, Unreadable
from viewer.site_data.site_file.connection import looks_like_site_file
from viewer.site_data.visit_grouping import group_visits
from viewer.state.opening.result_transport import collection_paused
from viewer.state.opening.worker_processes import WORTH_WAITING, Workers
from viewer.state.opening.worker_tasks import HeldTrace
from viewer.state.program.jobs import Progress
from viewer.state.session import Arrival
from viewer.state.strings.listed_traces import stored_listing


def open_site(
    path: Path, inputs: AnalysisInputs | None = None, behind_window: bool = False
) -> Iterator[tuple[Progress, Arrival]]:
    """Reads every trace at a path, then analyses them combiner by combiner.

    behind_window: its processes give way to the window that waits for the results, and of a site
    file, whose newest visit the window shows from the start, that visit comes first.
    Raises ValueError with one sentence when nothing there can be opened.
    """
    is_listed = path.is_file() and looks_like_site_file(path)
    if is_listed:
        with collection_paused():
            listed = listing_arrival(path)
        yield Progress(0, None, "listing"), listed
        del listed
    with Workers(behind_window) as workers:
        with collection_paused():
            opened = open_source(path, workers.expect)
            if len(opened.sources) >= WORTH_WAITING:
                gc.freeze()  # a file's traces stay until they are compared
        total = len(opened.sources)
        yield (
            Progress(0, total, "reading"),
            Arrival(layout=opened.layout, remarks=opened.problems + opened.remarks),
        )
        analysis = workers.analysis(opened, inputs)
        traces: list[Trace | HeldTrace] = []
        others: list[NotATrace] = []
        for step in analysis.read():
            others += [one for one in step.found if isinstance(one, NotATrace)]
            traces += [one for one in step.found if not isinstance(one, Unreadable)]
            yield Progress(step.done, total, "reading"), Arrival(unreadable=failures(step.found))
        if others and len(others) == total:
            raise FolderError(nothing_but(path, others))
        if others:
            yield Progress(total, total, "reading"), Arrival(remarks=left_out(others))
        traces, copies = counted_once(traces, opened.layout)
        if copies:
            yield Progress(total, total, "reading"), Arrival(remarks=copies)
        done = 0
        in_turn = newest_first if is_listed and behind_window else neighbour_groups
        for outcomes in analysis.compare(in_turn(traces)):
            done += len(outcomes)
            results = tuple(one for one in outcomes if isinstance(one, TraceResult))
            yield (
                Progress(done, len(traces), "comparing"),
                Arrival(results=results, unreadable=failures(outcomes)),
            )


def newest_first(traces: Sequence[One]) -> list[tuple[One, ...]]:
    """The groups of `neighbour_groups`, visit by visit backwards in time, undated ones last."""
    visits = group_visits(traces)
    dated = [one for one in visits if one.started_at is not None]
    undated = [one for one in visits if one.started_at is None]
    return [
        group
        for visit in (*reversed(dated), *undated)
        for group in neighbour_groups(traces[place] for place in visit.members)
    ]


def listing_arrival(path: Path) -> Arrival:
    """What a site file shows before its curves are read: the layout, and every trace by name."""
    stored = stored_listing(path)
    return Arrival(
        layout=stored.layout,
        listing=stored.listing,
        repairs=stored.repairs,
        baseline_start=stored.baseline_start,
    )

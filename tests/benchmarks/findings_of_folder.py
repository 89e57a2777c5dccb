"""What the benchmarks of findings share: analysing a folder here, and printing tables of it."""

import time
from collections import Counter, defaultdict
from collections.abc import Iterable
from pathlib import Path
from typing import Any

from viewer.analysis import comparison
from viewer.analysis.batch import analyze_traces, neighbour_groups
from viewer.analysis.causes.findings import Findings
from viewer.analysis.results.trace_result import TraceResult
from viewer.reading.visits.visit_folder import open_visit_folder, read_source
from viewer.site_data.iv_trace import Trace


def analyse(folder: Path) -> tuple[dict[str, TraceResult], float, float]:
    """Results by string name; seconds of processor time a trace for all, and for findings.

    A trace that could not be analysed is not among the results.
    """
    spent = 0.0
    original = comparison.find

    def timed(*arguments: Any) -> list[Findings]:
        nonlocal spent
        begin = time.process_time()
        found = original(*arguments)
        spent += time.process_time() - begin
        return found

    start = time.process_time()
    visit = open_visit_folder(folder)
    read = [one for source in visit.sources for one in read_source(visit, source)]
    traces = [one for one in read if isinstance(one, Trace)]
    results = {}
    comparison.find = timed
    try:
        for group in analyze_traces(neighbour_groups(traces), visit.layout):
            for one in group:
                if isinstance(one, TraceResult):
                    results[one.trace.string] = one
    finally:
        comparison.find = original
    return results, (time.process_time() - start) / len(traces), spent / len(traces)


def share(flags: Iterable[bool | None]) -> str:
    known = [flag for flag in flags if flag is not None]
    return f"{sum(known)}/{len(known)} = {100 * sum(known) / max(len(known), 1):.1f} %"


def print_confusion(rows: Iterable[tuple[str, str, bool]], width: int = 28) -> None:
    """The confusion table of (true cause, first cause found, right), a line a true cause."""
    table: dict[str, Counter] = defaultdict(Counter)
    right: Counter = Counter()
    for true, first, is_right in rows:
        table[true][first] += 1
        right[true] += is_right
    print(f"{'true cause':{width}s} right      first causes found")
    for true, found in table.items():
        words = ", ".join(f"{cause} {count}" for cause, count in found.most_common())
        print(f"{true:{width}s} {right[true]:3d}/{found.total():3d}    {words}")


def print_times(seconds: float, of_findings: float, modules: str) -> None:
    print(f"files to results: {1000 * seconds:.2f} ms of processor time a trace, {modules}")
    print(f"of it signatures and causes: {1000 * of_findings:.2f} ms a trace, mostly faulty ones")

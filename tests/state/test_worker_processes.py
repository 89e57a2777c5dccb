"""Several processes give what one gives."""

import multiprocessing
import time

import pytest

from viewer.analysis.batch import analyze_traces, combiner_groups
from viewer.reading.open_source import open_source
from viewer.reports.result_json import json_line
from viewer.site_data.iv_trace import Trace
from viewer.site_data.resource_folder import example_folder
from viewer.state import worker_processes
from viewer.state.worker_processes import analysis_workers


def test_same_results_in_processes(monkeypatch: pytest.MonkeyPatch) -> None:
    opened = open_source(example_folder())
    read = [one for source in opened.sources for one in opened.read(source)]
    groups = combiner_groups(one for one in read if isinstance(one, Trace))
    here = sorted(json_line(x) for part in analyze_traces(groups, opened.layout) for x in part)
    monkeypatch.setattr(worker_processes, "WORTH_STARTING", 1)
    monkeypatch.setattr(worker_processes, "_usable_cores", lambda: 2)
    with analysis_workers(opened.layout, expected=len(groups)) as analyse:
        there = sorted(json_line(x) for part in analyse(groups) for x in part)
    assert there == here


def test_giving_up_ends_the_processes(monkeypatch: pytest.MonkeyPatch) -> None:
    opened = open_source(example_folder())
    read = [one for source in opened.sources for one in opened.read(source)]
    groups = combiner_groups(one for one in read if isinstance(one, Trace))
    monkeypatch.setattr(worker_processes, "WORTH_STARTING", 1)
    monkeypatch.setattr(worker_processes, "_usable_cores", lambda: 2)
    with analysis_workers(opened.layout, expected=len(groups)) as analyse:
        assert next(iter(analyse(groups * 4)))
    assert not multiprocessing.active_children() or _gone_within(20)


def _gone_within(seconds: float) -> bool:
    until = time.monotonic() + seconds
    while multiprocessing.active_children() and time.monotonic() < until:
        time.sleep(0.1)
    return not multiprocessing.active_children()

"""Several processes give what one gives."""

import pytest

from viewer.analysis.batch import analyze_traces, combiner_groups
from viewer.reading.open_source import open_source
from viewer.reports.result_json import json_line
from viewer.site_data.iv_trace import Trace
from viewer.site_data.resource_folder import example_folder
from viewer.state import worker_processes
from viewer.state.worker_processes import analyze_in_processes


def test_same_results_in_processes(monkeypatch: pytest.MonkeyPatch) -> None:
    opened = open_source(example_folder())
    read = [one for source in opened.sources for one in opened.read(source)]
    groups = combiner_groups(one for one in read if isinstance(one, Trace))
    here = sorted(json_line(x) for part in analyze_traces(groups, opened.layout) for x in part)
    monkeypatch.setattr(worker_processes, "WORTH_STARTING", 1)
    monkeypatch.setattr(worker_processes, "_usable_cores", lambda: 2)
    there = sorted(
        json_line(x) for part in analyze_in_processes(groups, opened.layout) for x in part
    )
    assert there == here


def test_giving_up_ends_the_processes(monkeypatch: pytest.MonkeyPatch) -> None:
    opened = open_source(example_folder())
    read = [one for source in opened.sources for one in opened.read(source)]
    groups = combiner_groups(one for one in read if isinstance(one, Trace))
    monkeypatch.setattr(worker_processes, "WORTH_STARTING", 1)
    monkeypatch.setattr(worker_processes, "_usable_cores", lambda: 2)
    outcomes = analyze_in_processes(groups * 4, opened.layout)
    assert next(outcomes)
    outcomes.close()

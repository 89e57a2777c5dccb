"""Any trace, whatever its text and numbers, and any further field of a record, comes back."""

import json
from dataclasses import dataclass, fields
from datetime import datetime, timedelta, timezone

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as some

from tests.site_data.site_file.example_data import LAYOUT, new_file
from viewer.site_data.iv_trace import MeasuredConditions, Trace
from viewer.site_data.site_file.connection import create_site_file
from viewer.site_data.site_file.importing import ImportedFile, import_files
from viewer.site_data.site_file.record_columns import join_record, split_record
from viewer.site_data.site_file.trace_rows import read_traces

text = some.none() | some.text(some.characters(exclude_categories=["Cs"]), max_size=20)
number = some.none() | some.floats(allow_nan=False)
times = some.datetimes(min_value=datetime(1990, 1, 1), max_value=datetime(2100, 1, 1))
zones = some.none() | some.integers(-840, 840).map(lambda m: timezone(timedelta(minutes=m)))


@some.composite
def traces(draw: some.DrawFn) -> Trace:
    points = draw(some.lists(some.floats(), min_size=0, max_size=12))
    size = len(points)
    currents = draw(some.lists(some.floats(), min_size=size, max_size=size))
    moment = draw(some.none() | times)
    return Trace(
        source="a.csv",
        voltage=np.array(points, dtype=float),
        current=np.array(currents, dtype=float),
        combiner=draw(text),
        string=draw(text),
        measured_at=moment and moment.replace(tzinfo=draw(zones)),
        conditions=MeasuredConditions(**{f.name: draw(number) for f in fields(MeasuredConditions)}),
        serial=draw(text),
        note=draw(text),
        remarks=tuple(draw(some.lists(some.text(max_size=10), max_size=3))),
    )


@settings(
    max_examples=60, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(traces())
def test_any_trace_comes_back(tmp_path_factory: pytest.TempPathFactory, trace: Trace) -> None:
    path = new_file(tmp_path_factory.mktemp("one"))
    with create_site_file(path) as site_file:
        files = [ImportedFile("a.csv", b"a", (trace,))]
        import_files(site_file, LAYOUT, files, folder="f", program_version="1")
        ((_, back),) = read_traces(site_file)
    np.testing.assert_array_equal(back.voltage, trace.voltage)
    np.testing.assert_array_equal(back.current, trace.current)
    assert back.conditions == trace.conditions
    for name in ("combiner", "string", "measured_at", "serial", "note", "remarks"):
        assert getattr(back, name) == getattr(trace, name)
    if trace.measured_at is not None:
        assert back.measured_at.utcoffset() == trace.measured_at.utcoffset()


@dataclass(frozen=True)
class Later:
    """A record as a later program might have it."""

    name: str
    size: float = 1.0
    words: tuple[str, ...] = ()
    flag: bool = False


def test_fields_without_a_column_are_kept() -> None:
    record = Later("a", 2.5, ("x", "y"), True)
    row = split_record(record, ["name"])
    assert json.loads(row[-1]) == {"size": 2.5, "words": ["x", "y"], "flag": True}
    assert Later(**join_record(["name"], row)) == record
    assert split_record(Later("a"), ["name"]) == ["a", "{}"]


def test_a_field_that_cannot_be_kept_is_an_error_not_a_loss() -> None:
    with pytest.raises(TypeError):
        split_record(Later("a", 1.0, (np.array([1.0]),)), ["name"])
